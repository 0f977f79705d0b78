"""The catalogue as tables for the command line."""

from __future__ import annotations

import numpy as np
from rich.markup import escape
from rich.table import Table

from stemwall.materials.catalogue import catalogue
from stemwall.materials.liquid import LongTerm
from stemwall.materials.material import Material, MembraneProduct
from stemwall.materials.water import AIR_PERMEABILITY

#: relative humidities at which functions are shown [-], and their suctions at 20 degC
SHOWN_HUMIDITY = (0.5, 0.8, 0.95)
KELVIN = 998.2 * 461.5 * 293.15


def material_list(word: str) -> Table:
    """Return all materials and membranes whose id, name or group contains ``word``."""
    table = Table("id", "name", "group", "kind")
    known = catalogue()
    for key, entry in known.items():
        kind = "membrane" if isinstance(entry, MembraneProduct) else entry.hatch
        if word.lower() in f"{key} {entry.name} {entry.group} {kind}".lower():
            table.add_row(key, escape(entry.name), entry.group, kind)
    return table


def material_sheet(entry: Material | MembraneProduct) -> Table:
    """Return the properties of one entry with their sources."""
    table = Table("property", "value", "source", "trust", "note", title=escape(f"{entry.id}: {entry.name}"))
    shown = _membrane(entry) if isinstance(entry, MembraneProduct) else _material(entry)
    for name, (label, value) in shown.items():
        origin = entry.provenance.get(name)
        row = ("", "", "") if origin is None else (origin.source, origin.confidence, origin.note)
        table.add_row(label, value, *map(escape, row))
    return table


def _material(entry: Material) -> dict[str, tuple[str, str]]:
    suction = -KELVIN * np.log(np.array(SHOWN_HUMIDITY))
    water = entry.water_content(suction)
    resistance_factor = AIR_PERMEABILITY / entry.vapour_permeability(suction)
    conductivity = entry.thermal_conductivity(np.concatenate([[0.0], water]))
    humidities = ", ".join(f"{share:.0%}" for share in SHOWN_HUMIDITY)
    return {
        "density": ("dry density", f"{entry.density:.4g} kg/m³"),
        "specific_heat": ("specific heat, dry", f"{entry.specific_heat:.4g} J/(kg K)"),
        "conductivity": (f"conductivity, dry and at {humidities} RH", f"{_join(conductivity)} W/(m K)"),
        "storage": (f"water content at {humidities} RH", f"{_join(water)} kg/m³"),
        "vapour": (f"vapour resistance factor at {humidities} RH", _join(resistance_factor)),
        "liquid": ("liquid transport", liquid_in_words(entry)),
        **_lasting(entry),
        "porosity": ("pore volume", f"{entry.porosity_or_saturation:.3g} m³/m³"),
        "mould_class": ("mould sensitivity class", entry.mould_class or "not applicable"),
        "surface": (
            "solar absorptance, emissivity",
            f"{entry.surface.absorptance:.2g}, {entry.surface.emissivity:.2g}",
        ),
    }


def _lasting(entry: Material) -> dict[str, tuple[str, str]]:
    if not isinstance(entry.liquid, LongTerm):
        return {}
    return {"liquid.long_term": ("K_s in lasting contact with water", f"{entry.liquid.saturated:.3g} m/s")}


def liquid_in_words(material: Material) -> str:
    """Whether liquid flows in a material, and by which of two laws."""
    if not material.has_liquid:
        return "no"
    return f"yes, {material.liquid_service} law" if material.liquid_service else "yes"


def _membrane(entry: MembraneProduct) -> dict[str, tuple[str, str]]:
    return {
        "sd": ("s_d, dry cup and wet cup", f"{entry.sd_dry:.3g} m, {entry.sd_wet:.3g} m"),
        "liquid": ("liquid water", "passes" if entry.liquid == "open" else "does not pass"),
        "thermal_resistance": ("thermal resistance", f"{entry.thermal_resistance:.3g} m² K/W"),
        "mould_class": ("mould sensitivity class", entry.mould_class or "not applicable"),
    }


def _join(values: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> str:
    return ", ".join(f"{value:.3g}" for value in values)
