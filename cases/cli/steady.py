"""The command `steady`: what is printed of the numbers of a section, and the file that keeps them."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console
from rich.markup import escape
from rich.table import Table

from stemwall.cases.cli.input import refuse, refuse_places

if TYPE_CHECKING:
    from stemwall.cases.case_file.case import Case
    from stemwall.cases.steady.results import Steady

#: W/(m K) and W/(m2 K) in Btu/(h ft degF) and Btu/(h ft2 degF)
PER_FOOT, PER_SQUARE_FOOT = 1.0 / 1.730735, 1.0 / 5.678263
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def steady_command(
    case: Case, out: Console, *, ground: float | None, years: int, freezing_index: float | None, file: Path | None
) -> None:
    """Compute, print and keep the numbers of a case, or end with every problem of it."""
    from stemwall.cases.inputs.input_errors import CaseError
    from stemwall.cases.steady.numbers import steady
    from stemwall.solver.model.errors import SectionError
    from stemwall.solver.results.output_places import write_whole

    refuse_places([file])
    try:
        found = steady(case, ground=ground, years=years, freezing_index=freezing_index)
    except CaseError as error:
        refuse(map(str, error.problems))
    except (SectionError, ValueError) as error:
        refuse([f"{case.file or 'case'}: found a section that cannot be solved at rest; expected {error}"])
    out.print(f"[bold]{escape(case.title)}[/bold]")
    out.print(numbers(found), year(found), frost(found), sep="\n\n")
    out.print(NOTE, highlight=False)
    if file is not None:
        text = json.dumps(as_plain(found), ensure_ascii=False, indent=1, default=float)
        out.print(f"→ {escape(str(write_whole(file, text + chr(10))))}")


NOTE = (
    "Conduction alone, per metre of perimeter; conductivities at 80 % humidity, of soil at 33 kPa, and at 10 °C; "
    "surface resistances of ISO 6946, for temperature factors 0.25 m²K/W inside; ground 2.5 widths of the building "
    "beside and below, closed there (ISO 10211). These and the formulas of ISO 13370 are from memory, to be checked. "
    "No moisture, sun, snow or heat of freezing: `run` computes those."
)


def as_plain(found: Steady) -> dict[str, object]:
    """Return everything found as plain values, in SI units."""
    inner, outer = found.linear
    derived = {
        "perimeter_heat_loss_factor": found.perimeter,
        "linear_transmittance_inner_dimensions": inner,
        "linear_transmittance_outer_dimensions": outer,
        "floor_transmittance_iso_13370": found.floor.transmittance,
    }
    plain = asdict(found)
    plain["year"] |= {"months": found.year.months.tolist(), "standard": found.year.standard.tolist()}
    return derived | plain


def numbers(found: Steady) -> Table:
    """Return the table of couplings, transmittances and temperature factors."""
    table = Table("", "SI", "IP", "what it is", title="At rest")
    inner, outer = found.linear

    def per_metre(name: str, value: float, what: str) -> None:
        table.add_row(name, f"{value:.3f} W/(m K)", f"{value * PER_FOOT:.3f} Btu/(h ft °F)", what)

    per_metre(
        "thermal coupling L2D", found.coupling, f"of {' and '.join(found.heated)} with the outdoors, half a building"
    )
    per_metre("perimeter heat loss factor", found.perimeter, "all heat below the house wall, per metre of perimeter")
    per_metre(
        "linear transmittance, inner dimensions", inner,
        f"less the house wall, {found.heights[0]:.3g} m above the floor, and {found.floor.kind} of ISO 13370, "
        f"{found.widths[0]:.3g} m wide",
    )  # fmt: skip
    per_metre(
        "linear transmittance, outer dimensions", outer,
        f"the same with {found.heights[1]:.3g} m of wall above grade and {found.widths[1]:.3g} m of floor",
    )  # fmt: skip
    if found.below_grade is not None:
        table.add_row(
            "conductance of the wall below grade", f"{found.below_grade:.3f} W/(m² K)",
            f"{found.below_grade * PER_SQUARE_FOOT:.3f} Btu/(h ft² °F)", "its layers, without ground and surfaces",
        )  # fmt: skip
    for key, (factor, x, y, region) in found.surface.items():
        place = f"lowest, on {region} at x = {x:.3g} m, y = {y:.3g} m; between this air and the outdoors"
        table.add_row(f"surface temperature factor, {key}", f"{factor:.3f}", "", place)
    for key, factor in found.factor.items():
        table.add_row(f"air of {key}", f"{factor:.3f}", "", "0 outdoors, 1 in the heated air")
    return table


def year(found: Steady) -> Table:
    """Return the table of heat by month."""
    table = Table("month", "computed [kWh/m]", "ISO 13370 [kWh/m]", title="Heat below the house wall, yearly wave")
    for name, own, standard in zip(MONTHS, found.year.months, found.year.standard, strict=True):
        table.add_row(name, f"{own:.2f}", f"{standard:.2f}")
    table.add_section()
    table.add_row("year", f"{found.year.months.sum():.1f}", f"{found.year.standard.sum():.1f}")
    table.add_row("yearly means alone", f"{found.year.at_rest:.1f}", f"{found.year.standard_at_rest:.1f}")
    return table


def frost(found: Steady) -> Table:
    """Return the table of the design winter."""
    winter = found.frost.winter
    table = Table("place", "", title=f"Frost: freezing index {winter.index:.0f} K d ({winter.origin})")
    table.add_row("frost depth in open ground", f"{found.frost.depth:.2f} m")
    for place in found.frost.places:
        table.add_row(f"{place.name}, lowest", f"{place.lowest:.1f} °C")
    return table
