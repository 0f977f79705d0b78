"""The catalogue as tables for the command line: lists, numbers with their sources and bands, functions, findings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from rich.markup import escape
from rich.table import Table

from stemwall.cases.inputs.display_units import BTU, FOOT, POUND, System, perms, significant
from stemwall.cases.inputs.units import PERM
from stemwall.materials.catalogue import catalogue
from stemwall.materials.check import check
from stemwall.materials.liquid import as_vapour
from stemwall.materials.material import Material, MembraneProduct
from stemwall.materials.stated_numbers import StatedNumber, stated_numbers
from stemwall.materials.water import AIR_PERMEABILITY, FloatArray, suction_from_humidity

#: relative humidities at which functions are shown [-], and their suctions at 20 degC
SHOWN_HUMIDITY = (0.2, 0.5, 0.65, 0.8, 0.9, 0.95, 0.98, 0.995)
KELVIN = 998.2 * 461.5 * 293.15
#: SI unit to its inch-pound unit and the factor; what is not here is shown in SI in both
INCH_POUND: Mapping[str, tuple[str, float]] = {
    "kg/m^3": ("lb/ft³", FOOT**3 / POUND),
    "kg/m3": ("lb/ft³", FOOT**3 / POUND),
    "J/(kg K)": ("Btu/(lb °F)", 1.0 / 4186.8),
    "W/(m K)": ("Btu in/(h ft² °F)", 12.0 * FOOT * 3600.0 / (1.8 * BTU)),
    "W/(m K2)": ("Btu in/(h ft² °F²)", 12.0 * FOOT * 3600.0 / (1.8**2 * BTU)),
    "m2K/W": ("h ft² °F/Btu", 1.8 * BTU / (3600.0 * FOOT**2)),
    "kg/(m2 s^0.5)": ("lb/(ft² h^0.5)", 60.0 * FOOT**2 / POUND),
    "m/s": ("ft/day", 86400.0 / FOOT),
    "1/m": ("1/ft", FOOT),
    "Pa": ("psi", 1.0 / 6894.757),
}


def material_list(word: str) -> Table:
    """Return all materials and membranes whose id, name or group contains ``word``."""
    table = Table("id", "name", "group", "kind")
    known = catalogue()
    for key, entry in known.items():
        kind = "membrane" if isinstance(entry, MembraneProduct) else entry.hatch
        if word.lower() in f"{key} {entry.name} {entry.group} {kind}".lower():
            table.add_row(key, escape(entry.name), entry.group, kind)
    return table


def number_sheet(entry: Material | MembraneProduct, units: System = "SI") -> Table:
    """Return every number of a catalogue entry with its band, source and trust."""
    table = Table("number", "value", "band", "source", "trust", "note", title=escape(f"{entry.id}: {entry.name}"))
    notes: set[str] = set()
    for number in stated_numbers(entry.id):
        origin = number.provenance
        note = "" if origin.note in notes else origin.note
        notes.add(origin.note)
        cells = (number.path, _value(number, units), _band(number, units), origin.source, origin.confidence, note)
        table.add_row(*map(escape, cells))
    for label, value, name in _words(entry):
        told = entry.provenance.get(name)
        origin_words = (told.source, told.confidence) if told else ("", "")
        table.add_row(*map(escape, (label, value, "", *origin_words)))
    return table


def number_comparison(first: Material | MembraneProduct, second: Material | MembraneProduct, units: System) -> Table:
    """Return the numbers of two entries side by side, each with its band."""
    one, two = ({number.path: number for number in stated_numbers(entry.id)} for entry in (first, second))
    table = Table("number", escape(first.id), "band", escape(second.id), "band")
    for path in dict.fromkeys((*one, *two)):
        cells = [part for side in (one.get(path), two.get(path)) for part in _pair(side, units)]
        table.add_row(path, *map(escape, cells))
    return table


def _pair(number: StatedNumber | None, units: System) -> tuple[str, str]:
    return ("–", "") if number is None else (_value(number, units), _band(number, units))


def function_sheet(materials: Sequence[Material], units: System = "SI") -> Table:
    """Return water, vapour and conductivity of one or two materials over relative humidity at 20 degC."""
    inches = units == "IP"
    labels = (
        "water [lb/ft³]" if inches else "water [kg/m³]",
        "vapour [perm-inch]" if inches else "µ of vapour",
        "with liquid [perm-inch]" if inches else "µ with liquid",
        f"λ [{INCH_POUND['W/(m K)'][0]}]" if inches else "λ [W/(m K)]",
    )
    names = [f"{label}, {material.id}" if len(materials) > 1 else label for material in materials for label in labels]
    table = Table("RH", *map(escape, names), title="Functions at 20 °C")
    columns = [column for material in materials for column in _functions(material, inches=inches)]
    for row, humidity in enumerate(SHOWN_HUMIDITY):
        table.add_row(f"{humidity:.1%}", *(significant(float(column[row])) for column in columns))
    return table


def resistance_factor(material: Material, humidity: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the vapour resistance factor at relative humidities [-], of vapour alone and with liquid, at 20 degC."""
    delta = material.vapour_permeability(suction_from_humidity(humidity))
    both = delta + as_vapour(material.liquid, material.storage, humidity, 20.0)
    with np.errstate(divide="ignore"):
        return AIR_PERMEABILITY / delta, AIR_PERMEABILITY / both


def _functions(material: Material, *, inches: bool) -> list[FloatArray]:
    humidity = np.array(SHOWN_HUMIDITY)
    water = material.water_content(suction_from_humidity(humidity))
    alone, both = resistance_factor(material, humidity)
    heat = material.thermal_conductivity(water)
    if not inches:
        return [water, alone, both, heat]
    per_inch = AIR_PERMEABILITY / (PERM * 0.0254)
    return [water * INCH_POUND["kg/m3"][1], per_inch / alone, per_inch / both, heat * INCH_POUND["W/(m K)"][1]]


def findings_table(materials: Mapping[str, Material]) -> Table | None:
    """Return what the plausibility check asks about materials, or None if that is nothing."""
    table = Table("material", "number", "found", "usual", title="What the check of materials asks about")
    for key, material in materials.items():
        for finding in check(material):
            if finding.severity == "W":
                table.add_row(key, *map(escape, (finding.place, finding.found, finding.expected)))
    return table if table.row_count else None


def _words(entry: Material | MembraneProduct) -> list[tuple[str, str, str]]:
    """Label, value and property name of what is no number."""
    mould = ("mould sensitivity class", entry.mould_class or "not applicable", "mould_class")
    if isinstance(entry, MembraneProduct):
        return [("liquid water", "passes" if entry.liquid == "open" else "does not pass", "liquid"), mould]
    told = [("liquid transport", liquid_in_words(entry), "liquid"), mould]
    if entry.frost.group:
        told.append(("frost susceptibility of the soil", entry.frost.group, "frost"))
    return told


def _value(number: StatedNumber, units: System) -> str:
    if isinstance(number.value, tuple):
        return f"{len(number.value)} points"
    return _shown(number, number.value, units)


def _band(number: StatedNumber, units: System) -> str:
    if number.low is None or number.high is None:
        return ""
    ends = sorted((number.low, number.high), key=lambda end: float(_shown(number, end, units).split(" ")[0]))
    low, high = (_shown(number, end, units).partition(" ")[0] for end in ends)
    return f"{low} to {high}{' (usual spread)' if number.usual else ''}"


def _shown(number: StatedNumber, value: float, units: System) -> str:
    """One value in the unit of its kind; an equivalent air layer becomes a permeance in inch-pound units."""
    unit = number.unit
    if units == "IP":
        if number.path.startswith("sd.") and unit == "m":
            return f"{perms(value):.3g} perm"
        if unit == "°C":
            return f"{1.8 * value + 32.0:.3g} °F"
        unit, factor = INCH_POUND.get(unit, (unit, 1.0))
        value *= factor
    return f"{value:.4g} {unit.replace('kg/m^3', 'kg/m³').replace('m3/m3', 'm³/m³')}".strip()


def liquid_in_words(material: Material) -> str:
    """Whether liquid flows in a material, and by which of two laws."""
    if not material.has_liquid:
        return "no"
    return f"yes, {material.liquid_service} law" if material.liquid_service else "yes"
