"""The command `why`: runs with and without the sources of a case, and the answer in words and on a page."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import typer
from rich.console import Console
from rich.markup import escape

from stemwall.cases.cli.exit_codes import FAILED
from stemwall.cases.cli.input import err, refuse, refuse_places

if TYPE_CHECKING:
    from rich.table import Table

    from stemwall.cases.case_file.case import Case
    from stemwall.cases.inputs.display_units import System
    from stemwall.cases.investigation.answer import Answer
    from stemwall.cases.investigation.part_tables import PageLedger
    from stemwall.cases.investigation.shares import Combination
    from stemwall.cases.investigation.sources import Source
    from stemwall.cases.setup.build import Setup


@dataclass(frozen=True)
class Asked:
    """What is asked: the place, which sources, how long the runs are, where everything goes, and what the page adds."""

    place: str
    keys: tuple[str, ...]
    years: float | None
    folder: Path
    page: Path
    part: str | None = None
    with_ledger: bool = True
    units: System = "SI"


def folder_of(case: Case, out_dir: Path) -> Path:
    """Return the folder that the runs of a question go into."""
    from stemwall.cases.batch.single_run import slug

    return out_dir / f"{slug(case)}-why"


def keys_of(names: list[str] | None) -> tuple[str, ...]:
    """Return the keys of sources asked for, all if none is named, or end with every unknown one."""
    from stemwall.cases.inputs.input_errors import nearest
    from stemwall.cases.investigation.sources import KEYS

    unknown = [n for n in names or () if n not in KEYS]
    if unknown:
        expected = ", ".join(KEYS)
        refuse(f'--source: found "{n}"; expected {nearest(n, KEYS) or "one of"}: {expected}' for n in unknown)
    return tuple(names) if names else KEYS


def place_of(setup: Setup, name: str) -> str:
    """Return the name of the probe asked for, or end with the nearest one there is."""
    from stemwall.cases.inputs.input_errors import nearest

    names = [probe.name for probe in setup.section.probes]
    if name not in names:
        hint = nearest(name, names)
        refuse([f'--place: found "{name}"; expected a place of the case ({", ".join(names)}); {hint}'.rstrip("; ")])
    return name


def part_of(setup: Setup, asked: Asked) -> str:
    """Return the region whose faces are looked at, by default that of the place, or end if there is none so called."""
    from stemwall.cases.inputs.input_errors import nearest
    from stemwall.cases.section.section_checks import Painted

    probe = next(probe for probe in setup.section.probes if probe.name == asked.place)
    if asked.part is None:
        place = None if probe.region else Painted(setup.section).nearest_solid(probe.x, probe.y)
        return str(probe.region or (place[0] if place else ""))
    names = [region.name for region in setup.section.regions]
    if asked.part not in names:
        hint = nearest(asked.part, names)
        refuse([f'--part: found "{asked.part}"; expected a region ({", ".join(names)}); {hint}'.rstrip("; ")])
    return asked.part


def why(case: Case, asked: Asked, out: Console, *, workers: int | None = None) -> None:
    """Carry out the runs that are not there yet, print the answer and write the page."""
    from stemwall.cases.cli.input import build_all
    from stemwall.cases.investigation.page import write_why
    from stemwall.cases.investigation.shares import EXACT, combinations_for
    from stemwall.cases.investigation.sources import present

    setup = build_all([case], asked.years)[0]
    place_of(setup, asked.place)
    part = part_of(setup, asked) if asked.with_ledger else None
    sources, absent = present(setup, asked.keys)
    wanted = combinations_for(len(sources))
    how = "every combination" if len(sources) <= EXACT else "chosen combinations"
    names = ", ".join(source.name for source in sources) or "none"
    out.print(f"{len(sources)} sources: {escape(names)}; {len(wanted)} runs ({how}) of {setup.hours:,} h → "
              f"{escape(str(asked.folder))}", highlight=False, soft_wrap=True)  # fmt: skip
    refuse_places([asked.page])
    paths = _carried_out(case, sources, wanted, asked, out, workers)
    answer = _answer(setup, asked.place, sources, absent, paths)
    for sentence in answer.sentences():
        out.print(escape(sentence), highlight=False)
    if sources:
        out.print(_table(answer))
    ledger = None if part is None else _ledger(setup, part, asked, out)
    written = write_why(answer, asked.page, period=_period(setup.hours), ledger=ledger)
    out.print(f"→ {escape(str(written))}")


def _carried_out(
    case: Case,
    sources: list[Source],
    wanted: list[Combination],
    asked: Asked,
    out: Console,
    workers: int | None,
) -> dict[Combination, Path]:
    """Carry out the runs; results by combination, or the end if one failed."""
    from stemwall.cases.cli.run import run_many
    from stemwall.cases.investigation.sources import case_with

    cases = [case_with(case, sources, combination) for combination in wanted]
    results, lost, whole = run_many(
        cases,
        asked.years,
        asked.folder,
        out,
        workers=workers,
        resume=True,
        again="the same command goes on",
    )
    if not whole or lost:
        raise typer.Exit(FAILED)
    return dict(zip(wanted, results, strict=True))


def _answer(
    setup: Setup, place: str, sources: list[Source], absent: list[Source], paths: dict[Combination, Path]
) -> Answer:
    from stemwall.cases.investigation.answer import Answer
    from stemwall.cases.investigation.effects import effects_at

    kind = next(probe.kind for probe in setup.section.probes if probe.name == place)
    values = {combination: effects_at(path, place) for combination, path in paths.items()}
    return Answer(place, kind, setup.case.title, sources, absent, values)


def _ledger(setup: Setup, part: str, asked: Asked, out: Console) -> PageLedger:
    """March the case once more and return what crossed the faces of a part."""
    from rich.progress import Progress

    from stemwall.cases.investigation.part_ledger import part_ledger
    from stemwall.cases.investigation.part_tables import page_ledger
    from stemwall.solver.model.errors import SectionError, SolverError, told

    with Progress(console=out) as bar:
        task = bar.add_task(f"ledger of {part}", total=setup.hours)
        try:
            found = part_ledger(setup, part, lambda done, hours: bar.update(task, completed=done, total=hours))
        except (SolverError, SectionError) as error:
            err.print(f"{escape(setup.case.title)}: {escape(told(error))}", soft_wrap=True, highlight=False)
            raise typer.Exit(FAILED) from error
    return page_ledger(found, setup.section, setup.materials, asked.units)


def _table(answer: Answer) -> Table:
    """Return shares by source, a column for each number of the place."""
    from rich.table import Table

    from stemwall.cases.inputs.display_units import number

    table = Table("source", *(f"{e.name} [{e.unit}]" if e.unit else e.name for e in answer.effects),
                  title="Shares of the sources; they add up to what all bring together")  # fmt: skip
    shares = {effect.key: answer.shares(effect).share for effect in answer.effects}
    for k, source in enumerate(answer.sources):
        table.add_row(source.name, *(number(float(shares[effect.key][k]), effect.digits) for effect in answer.effects))
    table.add_section()
    for name, value in (("together", answer.together), ("with all", answer.with_all), ("with none", answer.with_none)):
        table.add_row(name, *(number(value(effect), effect.digits) for effect in answer.effects))
    return table


def _period(hours: int) -> str:
    return "the last 12 months of the run" if hours > 8760 else f"the {hours:,} hours of the run"
