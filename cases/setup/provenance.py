"""Where the inputs of a run come from and what surrounds the section, in words, for the result file and the report."""

from __future__ import annotations

from collections.abc import Sequence

from stemwall.cases.case_file.case import Case, Run
from stemwall.cases.details.workmanship import Workmanship, poor_value
from stemwall.cases.inputs.input_errors import Problem
from stemwall.cases.inputs.spans import HOUR, Span, said
from stemwall.cases.setup.environment import leaks
from stemwall.cases.surroundings.air_zone import ZoneTable
from stemwall.cases.surroundings.site_notes import notes
from stemwall.cases.surroundings.water_events import FloodTable, LeakTable
from stemwall.weather.year import WeatherYear

FROST = (
    "water freezes with its latent heat, suction by Clapeyron's equation, rounded over the first 0.2 K; "
    "ice draws water, no heave is computed"
)


def provenance(case: Case, year: WeatherYear, doubts: Sequence[Problem] = ()) -> dict[str, str]:
    """Return where the inputs come from, by attribute of the result file."""
    return {
        "case_file": case.file,
        "variant": case.name,
        "variant_note": case.note,
        "start_moisture": case.run.start_moisture,
        "doubts": "\n".join(str(doubt) for doubt in doubts),
        "weather": f"{year.station}: {year.provenance}",
        "weather_notes": "; ".join(year.notes),
        "weather_sha256": year.sha256,
        "rain": year.rain_origin,
        **{f"outdoors_{key}": text for key, text in notes(case.site, year).items()},
        **{f"indoor_{key}": air.describe() for key, air in case.indoor.items()},
        **{f"environment_{key}": text for key, text in surroundings(case).items()},
    }


def surroundings(case: Case) -> dict[str, str]:
    """Return a line by subject on frost, ground water, computed air, leaks, floods, air paths and workmanship."""
    paths = [f"{path.name}: from {path.source} to {path.target}" for path in case.air_path]
    found = {
        "frost": FROST,
        "ground_water": _ground_water(case),
        **{f"air_of_{key}": _zone(table) for key, table in case.zone.items()},
        "leaks": _list([_leak(table, case.run) for table in leaks(case)]),
        "floods": _list([_flood(table, case.run) for table in case.flood]),
        "air_paths": _list(paths),
    }
    if case.without.any:
        found["switched_off"] = ", ".join(case.without.names)
    if case.detail is not None:
        found["workmanship"] = _workmanship(case.detail.workmanship)
    return found


def _list(items: list[str]) -> str:
    return "; ".join(items) or "none"


def _ground_water(case: Case) -> str:
    depth = case.site.water_table
    if depth is None:
        return "none within reach: water drains freely at the lower edge"
    return f"water table {depth:.3g} m below grade, all year; at the lower edge it holds its pressure"


def _zone(table: ZoneTable) -> str:
    """What moves and conditions the air of a zone."""
    rates = {
        "leakage": table.outdoor_leakage, "leakage from the house": table.house_leakage,
        "supply duct leakage": table.duct_leakage, "return duct leakage": table.return_leakage,
    }  # fmt: skip
    parts = [f"{word} {rate:.3g} 1/h" for word, rate in rates.items() if rate > 0]
    if table.supply > 0:
        parts.append(f"supply {table.supply * 1000:.3g} L/(s m²)")
    if table.exhaust > 0:
        shares = ", ".join(f"{flow / table.exhaust:.0%} {source}" for source, flow in table.make_up.items())
        parts.append(f"exhaust {table.exhaust * 1000:.3g} L/(s m²) with make-up {shares}")
    if table.vents is not None:
        parts.append(f"vents of {table.vents.ratio:.3%} of the floor, driven by wind and buoyancy")
    if table.heater is not None:
        parts.append(f"heater to {table.heater.set_point:.3g} °C, {table.heater.capacity:.3g} W/m")
    if table.dehumidifier is not None:
        parts.append(f"dehumidifier to {table.dehumidifier.set_point:.0%}, {table.dehumidifier.capacity:.3g} kg/(m² d)")
    return "computed; " + _list(parts)


def _leak(table: LeakTable, run: Run) -> str:
    parts = []
    if table.rain_share > 0:
        parts.append(f"{table.rain_share:.3g} of the rain on {table.rain_height:.3g} m of wall")
    if table.amount > 0:
        parts.append(f"{table.amount:.3g} kg/m {_time(table, run)}")
    return f"{table.name}: {' and '.join(parts) or 'nothing'}"


def _flood(table: FloodTable, run: Run) -> str:
    warm = "the outdoor air, 0 °C at least" if table.temperature is None else f"{table.temperature:.3g} °C"
    level = f"{table.where} up to y = {table.level:.3g} m"
    return f"{table.name}: {level}, {_time(table, run)}, temperature of {warm}"


def _time(table: Span, run: Run) -> str:
    """When an event takes place, and that it does not where a run was cut short before."""
    begin, end = table.begins(run.start), table.ends(run.start)
    again = f", again every {table.repeat_days} days" if table.repeat_days else ""
    late = "" if begin < run.start + run.hours * HOUR else ", which is after the end of this run"
    return f"from {said(begin)} for {(end - begin) // HOUR} h{again}{late}"


def _workmanship(work: Workmanship) -> str:
    """What is built worse than drawn."""
    fields = type(work).model_fields
    switches = [name for name, field in fields.items() if poor_value(field.json_schema_extra) is not None]
    bad = [f"{fields[name].description}: {_shown(getattr(work, name))}" for name in switches if getattr(work, name)]
    return f"{work.preset}; " + (_list(bad) if bad else "as drawn")


def _shown(value: object) -> str:
    return "yes" if value is True else f"{value:.4g}"
