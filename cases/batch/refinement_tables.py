"""The findings of a finer computation as tables of a terminal."""

from __future__ import annotations

from rich.markup import escape
from rich.table import Table

from stemwall.cases.batch.refinement import Convergence, Finding, PlaceChange


def tables(convergence: Convergence) -> list[Table]:
    """Return one table per study: what changes at every place, and heat by climate below."""
    return [_table(convergence, finding) for finding in convergence.findings]


def _table(convergence: Convergence, finding: Finding) -> Table:
    title = (
        f"{convergence.variant}, {finding.study}: {finding.what} "
        f"({convergence.cells:,} → {finding.cells:,} cells, {convergence.steps:,} → {finding.steps:,} steps)"
    )
    table = Table(title=escape(title), title_justify="left", caption=_heat(finding), caption_justify="left")
    table.add_column("place")
    for name in ("|ΔT| K max", "mean", "|ΔRH| % max", "mean", "mould index, Δ", "wood % , Δ"):
        table.add_column(name, justify="right")
    for place in finding.places:
        table.add_row(escape(place.place), *_cells(place))
    return table


def _cells(place: PlaceChange) -> list[str]:
    return [
        f"{place.temperature_max:.3f}",
        f"{place.temperature_mean:.3f}",
        f"{100 * place.humidity_max:.2f}",
        f"{100 * place.humidity_mean:.2f}",
        _pair(place.mould, place.mould_change, 2),
        _pair(place.moisture, place.moisture_change, 1),
    ]


def _pair(value: float | None, change: float | None, digits: int) -> str:
    if value is None or change is None:
        return ""
    return f"{value:.{digits}f} {change:+.{digits + 1}f}"


def _heat(finding: Finding) -> str:
    parts = (f"{row.climate} {row.heat:.2f} {row.change:+.3f}" for row in finding.heat)
    return "heat into the section, kWh/m: " + escape("; ".join(parts))
