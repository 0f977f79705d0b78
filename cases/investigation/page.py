"""One self-contained page on why a place is wet: the answer first, then numbers, switches and runs."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup

from stemwall.cases.inputs.display_units import number
from stemwall.cases.investigation.answer import Answer
from stemwall.cases.investigation.effects import Effect
from stemwall.cases.investigation.part_tables import PageLedger
from stemwall.cases.investigation.pictures import share_bars
from stemwall.cases.investigation.shares import combinations_for
from stemwall.cases.investigation.sources import in_list
from stemwall.cases.report import style as figures
from stemwall.solver.results.output_places import write_whole


def write_why(answer: Answer, out: Path, *, period: str, ledger: PageLedger | None = None) -> Path:
    """Write the page.

    Parameters
    ----------
    answer : Answer
        What the sources do to the place.
    out : Path
        Page to write.
    period : str
        What hours the numbers are of, in words.
    ledger : PageLedger, optional
        What crossed the faces of a part, see `stemwall.cases.investigation.part_tables`.

    Raises
    ------
    OutputError
        If the page cannot be written.
    """
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    template = environment.from_string(files(__package__).joinpath("why.html").read_text(encoding="utf-8"))
    css = files("stemwall.cases.report").joinpath("report.css").read_text(encoding="utf-8")
    page = template.render(
        style=Markup(css),
        answer=answer,
        period=period,
        ledger=ledger,
        bars=_bars(answer),
        shares={effect.key: _shares(answer, effect) for effect in answer.effects},
        together={effect.key: number(answer.together(effect), effect.digits) for effect in answer.effects},
        runs=_runs(answer),
    )
    return write_whole(Path(out), page)


def _bars(answer: Answer) -> Markup:
    if not answer.sources:
        return Markup()
    with figures.style("why"):
        return Markup(figures.svg(share_bars(answer), f"shares of the sources at {answer.place}"))


def _shares(answer: Answer, effect: Effect) -> list[dict[str, str]]:
    """Return the rows of the table of one number, in the order of the sources."""
    found = answer.shares(effect)
    rows = []
    for k, source in enumerate(answer.sources):
        numbers = {
            "share": float(found.share[k]),
            "spread": float(found.spread[k]),
            "away": answer.taken_away(effect, k),
            "alone": answer.brought_alone(effect, k),
        }
        rows.append({"name": source.name, **{key: number(v, effect.digits) for key, v in numbers.items()}})
    return rows


def _runs(answer: Answer) -> list[tuple[str, list[str]]]:
    rows = []
    for combination in combinations_for(len(answer.sources)):
        away = [source.name for k, source in enumerate(answer.sources) if k not in combination]
        values = answer.values[combination]
        cells = [number(values[effect.key], effect.digits) for effect in answer.effects]
        rows.append((in_list(away) or "nothing", cells))
    return rows
