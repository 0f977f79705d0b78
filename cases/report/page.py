"""The report: one self-contained HTML page on one result, or on all variants of a case."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from importlib.resources import files
from pathlib import Path
from typing import Any

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup
from matplotlib.figure import Figure

from stemwall.cases.batch.refinement import Convergence
from stemwall.cases.inputs.display_units import System, Units
from stemwall.cases.report import compared as report_compared
from stemwall.cases.report import field_maps, flow_bars, inputs, time_series, verdicts
from stemwall.cases.report import style as figures
from stemwall.cases.report.drift import drifts, studies, unsettled
from stemwall.cases.report.findings import findings as found_in
from stemwall.cases.report.findings import kinds_in_words, missed_besides, unasked
from stemwall.cases.report.limits import in_words, limit_and_basis
from stemwall.cases.report.tables import ledger_table, summary
from stemwall.cases.results.given_air import MARKED, given_air
from stemwall.cases.results.ledger import seasons
from stemwall.cases.results.ledger_tables import Account, account
from stemwall.cases.results.variant import Variant, load, shared_places
from stemwall.solver.assessment.criteria import CRITERIA
from stemwall.solver.assessment.verdicts import SETTLED_HOURS
from stemwall.solver.results.output_places import write_whole

#: places shown against the germination line, and variants beside each other there
SCATTER_PLACES, SCATTER_VARIANTS = 2, 3
#: a place whose mould index stays below this in all variants is named, not drawn
SHOWN_INDEX = 0.1


def write_report(
    results: Sequence[Path],
    out: Path,
    *,
    units: System = "SI",
    findings: Sequence[Convergence] = (),
    lost: Mapping[str, str] | None = None,
) -> Path:
    """Write one HTML page that needs nothing else: no network, styles and figures inside.

    Parameters
    ----------
    results : sequence of Path
        Result files; the first is the base that the others are compared with.
    out : Path
        Page to write.
    units : {"SI", "IP"}
        Metric or inch-pound, in tables and on axes.
    findings : sequence of Convergence
        What finer computations changed, see `stemwall.cases.batch.refinement`.
    lost : mapping, optional
        Why other variants failed, by name, that left nothing to show.

    Raises
    ------
    ValueError
        For unknown units or no result; a `ResultError` for one that cannot be read.
    OutputError
        If the page cannot be written.
    """
    return write_page(load(results), out, units=units, findings=findings, lost=lost)


def write_page(
    variants: list[Variant],
    out: Path,
    *,
    units: System = "SI",
    findings: Sequence[Convergence] = (),
    lost: Mapping[str, str] | None = None,
) -> Path:
    """Write the page of `write_report` on results that were read."""
    chosen = Units(units)
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    folder = files("stemwall.cases.report")
    template = environment.from_string(folder.joinpath("report.html").read_text(encoding="utf-8"))
    style = Markup(folder.joinpath("report.css").read_text(encoding="utf-8"))
    page = template.render(style=style, **_context(variants, chosen, findings), lost=dict(lost or {}))
    return write_whole(Path(out), page)


def _context(variants: list[Variant], units: Units, findings: Sequence[Convergence]) -> dict[str, Any]:
    """Everything that the template shows."""
    base = variants[0]
    periods = verdicts.periods(variants)
    accounts = [account(variant, units) for variant in variants]
    whole = [variant for variant in variants if variant.complete]
    # sums and worst hours of a run that stopped are of another length, and differ for that alone
    compared = whole if base.complete else []
    changes = verdicts.changes(compared, periods[0], units) if len(compared) > 1 else []
    moved = drifts(whole, units)
    return {
        "title": base.case.about.title if base.case else base.text("title", base.file),
        "about": base.case.about.text.strip() if base.case else "",
        "base": base,
        "variants": variants,
        "units": units,
        "criteria": CRITERIA,
        "in_words": in_words,
        "shown_index": SHOWN_INDEX,
        "unlike": _unlike(whole),
        "unusual": _unusual(variants),
        "short_run": min((variant.hours for variant in whole), default=0) < SETTLED_HOURS,
        "span": [verdicts.date(base.start), verdicts.date(base.time[-1])],
        "whole_year": base.hours >= 8760,
        "flow_hours": min(base.hours, 8760),
        "mean_word": figures.mean_word(base.hours),
        "findings": found_in(variants, periods[0], units),
        "besides": missed_besides(variants, periods[0]),
        "kinds": kinds_in_words(variants),
        "unasked": unasked(variants),
        "summary": summary(variants, accounts, periods[0], units),
        "periods": periods,
        "first": {period: verdicts.groups(variants, period, units, first=True) for period in periods},
        "rest": {period: verdicts.groups(variants, period, units, first=False) for period in periods},
        "whole": whole,
        "compared": compared,
        "changes": changes,
        "changed": [row for row in changes if any(change.look != "same" for change in row.changes)],
        "limits": {key: limit_and_basis(CRITERIA[key], units) for key in verdicts.FIRST},
        "materials": report_compared.materials(variants, units),
        "membranes": report_compared.membranes(variants),
        "probes": report_compared.probes(variants, units),
        "sources": report_compared.sources(variants),
        "origins": report_compared.origins(variants),
        "settings": report_compared.settings(variants),
        "heat": [(one.name, ledger_table(one.heat)) for one in accounts],
        "water": [(one.name, ledger_table(one.water)) for one in accounts],
        "given_air": given_air(
            [one for variant, one in zip(variants, accounts, strict=True) if variant.complete], units
        ),
        "marked": [f"{units[kind].text(limit)} {units[kind].unit} of {kind}" for kind, limit in MARKED.items()],
        "seasons": seasons(base),
        "drifts": moved,
        "unsettled": unsettled(moved, units),
        "studies": studies(findings, base, units),
        "evidence": [inputs.evidence(variant) for variant in variants],
        "versions": json.loads(base.text("versions", "{}")),
        "figures": _figures(variants, accounts, units, periods[0]),
    }


def _unlike(variants: list[Variant]) -> list[str]:
    """Return what differs among the variants although a comparison takes it to be the same."""
    alike: dict[str, set[Any]] = {
        "recorded hours": {(variant.start, variant.hours) for variant in variants},
        "weather": {variant.text("weather_sha256") for variant in variants},
        "versions": {variant.text("versions") for variant in variants},
        "case text": {variant.text("case") for variant in variants},
    }
    return [word for word, found in alike.items() if len(found) > 1]


def _unusual(variants: list[Variant]) -> list[tuple[str, list[str]]]:
    """Return (variant, what is unusual about its input), each remark under the first variant that has it."""
    seen: set[str] = set()
    found = []
    for variant in variants:
        doubts = [line for line in variant.text("doubts", "").splitlines() if line.partition(": found")[2] not in seen]
        seen.update(line.partition(": found")[2] for line in doubts)
        if doubts:
            found.append((variant.name, doubts))
    return found


def _figures(variants: list[Variant], accounts: list[Account], units: Units, period: Any) -> dict[str, Any]:
    """All figures of the page as SVG, by name; those that do not apply are left out."""
    base = variants[0]
    places = shared_places(variants)
    classed = [p for p in places if any(v.places[p].mould_class for v in variants if p in v.places)]
    worst = _least_margins(base, classed, period)
    growing = [place for place in classed if _largest_index(variants, place) >= SHOWN_INDEX]
    beside = variants[:SCATTER_VARIANTS]
    names = ", ".join(variant.name for variant in variants)
    made: dict[str, Any] = {}
    with figures.style("section"):
        made["section"] = _svg(field_maps.section_drawing(base, units), "section drawn to scale, probes numbered")
    with figures.style("places"):
        made["places"] = [
            (name, _svg(time_series.place(variants, name, units), f"{name} over time: {names}")) for name in places
        ]
        made["legend"] = _svg(time_series.legend(variants), f"lines of the variants: {names}")
    with figures.style("climates"):
        made["climates"] = _svg(time_series.climates(base, units), "air temperatures and dew points")
    with figures.style("mould"):
        made["mould"] = _svg(time_series.mould(variants, growing) if growing else None, "mould index over time")
        made["no_growth"] = [place for place in classed if place not in growing]
    with figures.style("scatter"):
        made["scatter"] = _svg(
            time_series.humidity_against_temperature(beside, worst, units) if worst else None,
            "daily relative humidity over temperature with the lowest germination line",
        )
    made["maps"] = []
    for variant in variants:
        moments = field_maps.moments(variant)
        with figures.style(f"maps {variant.name}"):
            figure = field_maps.field_maps(variant, moments, units) if moments else None
            made["maps"].append((variant.name, _svg(figure, f"field maps of {variant.name}")))
    with figures.style("heat"):
        made["heat"] = _svg(flow_bars.heat_bars(accounts), "heat into the section by what brings it and by season")
    with figures.style("water"):
        made["water"] = _svg(flow_bars.water_bars(accounts), "water into the section by what brings it")
    return made


def _least_margins(variant: Variant, places: list[str], period: Any) -> list[str]:
    """Return the places with the least margin to the mould limit, for their own class, the least first."""
    own = {place: verdicts.own_class(variant, place, period, "mould-index") for place in places}
    margins = {place: found.margin for place, found in own.items() if found and found.holds is not None}
    return sorted(margins, key=lambda name: margins[name])[:SCATTER_PLACES]


def _largest_index(variants: list[Variant], place: str) -> float:
    """Return the largest mould index at a place, of its own class, in any variant."""
    periods = verdicts.periods(variants)
    found = [verdicts.own_class(variant, place, period, "mould-index") for variant in variants for period in periods]
    return max((v.value for v in found if v is not None and v.holds is not None), default=0.0)


def _svg(figure: Figure | None, label: str) -> Markup:
    return Markup() if figure is None else Markup(figures.svg(figure, label))
