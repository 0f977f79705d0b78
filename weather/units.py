"""Unit conversion for tables whose columns name their units."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np

from stemwall.weather.columns import COLUMNS
from stemwall.weather.moistair import FloatArray

if TYPE_CHECKING:
    import pint


WARMTH = {"F": "degF", "C": "degC", "°F": "degF", "°C": "degC", "deg F": "degF", "deg C": "degC"}
"""Short names of units of temperature, which alone would be farad and coulomb."""

AMOUNTS = ("mm", "cm", "in", "inch", "inches")
"""Units of rain as an amount per row, not a rate."""


@cache
def registry() -> pint.UnitRegistry[Any]:
    """Unit registry with the tenths and eighths of meteorology."""
    import pint

    units: pint.UnitRegistry[Any] = pint.UnitRegistry()
    units.define("tenth = 0.1")
    units.define("okta = 0.125")
    return units


def to_column_unit(values: FloatArray, unit: str, column: str) -> FloatArray:
    """Convert hourly values, shape (n,), from a unit as written in a file to the unit of a column.

    Raises
    ------
    ValueError
        If the unit is unknown or measures something else.
    """
    units = registry()
    target = COLUMNS[column].unit
    source = "1" if unit.strip() in ("", "-") else unit.strip()
    if target == "degC":
        source = WARMTH.get(source, source)
    try:
        quantity = units.Quantity(values, units.Unit(source) if source != "1" else units.dimensionless)
        converted = quantity.to(target if target != "1" else units.dimensionless).magnitude
    except Exception as error:
        raise ValueError(f"{error}") from error
    return np.asarray(converted, dtype=np.float64)
