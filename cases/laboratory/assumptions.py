"""What stands in where a sheet says nothing: another material that it names, or common practice, always said."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from stemwall.materials.material import Hatch

#: density of the solid matrix [kg/m3]: quartz, wood substance (common practice, no source)
MINERAL, WOOD = 2650.0, 1530.0
#: specific heat of the dry material by hatch [J/(kg K)] (common practice, no source)
HEAT: Mapping[str, float] = {"wood": 1600.0, "board": 1200.0, "insulation": 1300.0, "flooring": 1400.0}
MINERAL_HEAT = 850.0
#: share of the pores that fill by suction alone (common practice, no source)
FILLED = 0.8
#: growth of the conductivity with moisture over the dry value [m3/kg]
PER_WATER = 4.0e-3
PER_WATER_SOURCE = "4 per m3/m3, as for many mineral materials in EN ISO 10456, Table 4 (from memory, to be checked)"
PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Assumption:
    """One thing that no test said: what, the value taken, and why that."""

    what: str
    value: str
    why: str

    def __str__(self) -> str:
        return f"{self.what}: {self.value} ({self.why})"


def matrix_density(hatch: Hatch | None) -> float:
    """Density of the solid matrix [kg/m3]."""
    return WOOD if hatch in ("wood", "board") else MINERAL


def specific_heat(hatch: Hatch | None) -> float:
    """Specific heat of the dry material [J/(kg K)]."""
    return HEAT.get(hatch or "", MINERAL_HEAT)


def borrowed(entry: Mapping[str, Any], name: str, like: str) -> dict[str, Any] | None:
    """Property of another material's written form, marked as such; None if it has none."""
    value = entry.get(name)
    if value is None:
        return None
    table = dict(value) if isinstance(value, Mapping) else {"value": value}
    kept = {key: item for key, item in table.items() if key not in ("source", "confidence", "note", "low", "high")}
    return {**kept, "source": f"catalogue, {like}", "confidence": "estimate", "note": "not tested"}
