"""Units of a report: metric (SI) or inch-pound (IP), for tables and axes alike."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.inputs.quantities import PERM
from stemwall.materials.water import AIR_PERMEABILITY

System = Literal["SI", "IP"]
Floats = NDArray[np.float64]

#: exact: metre per foot, kilogram per pound, joule per Btu (IT)
FOOT, POUND, BTU = 0.3048, 0.45359237, 1055.05585262
KILOWATT_HOUR = 3.6e6


@dataclass(frozen=True)
class Quantity:
    """How one kind of number is shown: SI value times ``factor`` plus ``offset``."""

    unit: str
    factor: float = 1.0
    offset: float = 0.0
    digits: int = 2

    def of(self, value: Floats | float) -> Floats:
        """Return SI values in this unit."""
        return np.asarray(value, dtype=np.float64) * self.factor + self.offset

    def text(self, value: float) -> str:
        """Return one SI value in this unit, without the unit."""
        return number(float(self.of(value)), self.digits)


_SI = {
    "temperature": Quantity("°C", digits=1),
    "difference": Quantity("K", digits=1),
    "heat": Quantity("kWh/m", digits=1),
    "water": Quantity("kg/m", digits=2),
    "density": Quantity("kg/m³", digits=0),
    "conductivity": Quantity("W/(m K)", digits=3),
    "water_content": Quantity("kg/m³", digits=0),
    "length": Quantity("m", digits=3),
    "rain": Quantity("mm", digits=0),
    "driven": Quantity("kg/m²", digits=0),
    "speed": Quantity("m/s", digits=1),
    "sun": Quantity("kWh/(m² d)", digits=1),
    "suction": Quantity("kPa", 1e-3, digits=1),
}
_IP = {
    "temperature": Quantity("°F", 1.8, 32.0, 1),
    "difference": Quantity("°F", 1.8, digits=1),
    "heat": Quantity("kBtu/ft", KILOWATT_HOUR / BTU / 1000.0 * FOOT, digits=1),
    "water": Quantity("lb/ft", FOOT / POUND, digits=2),
    "density": Quantity("lb/ft³", FOOT**3 / POUND, digits=1),
    "conductivity": Quantity("Btu in/(h ft² °F)", 12.0 * FOOT * 3600.0 / (1.8 * BTU), digits=3),
    "water_content": Quantity("lb/ft³", FOOT**3 / POUND, digits=2),
    "length": Quantity("ft", 1.0 / FOOT, digits=3),
    "rain": Quantity("in", 12e-3 / FOOT, digits=1),
    "driven": Quantity("lb/ft²", FOOT**2 / POUND, digits=1),
    "speed": Quantity("mph", 3600.0 / (5280.0 * FOOT), digits=1),
    "sun": Quantity("kBtu/(ft² d)", KILOWATT_HOUR / BTU / 1000.0 * FOOT**2, digits=2),
    "suction": Quantity("psi", FOOT**2 / (144.0 * POUND * 9.80665), digits=2),
}


@dataclass(frozen=True)
class Units:
    """The unit system of a report.

    Parameters
    ----------
    system : {"SI", "IP"}
        Metric or inch-pound.
    """

    system: System = "SI"

    def __post_init__(self) -> None:
        if self.system not in ("SI", "IP"):
            raise ValueError(f'units: found {self.system!r}; expected "SI" or "IP"')

    @property
    def inches(self) -> bool:
        """Whether lengths are in feet and inches."""
        return self.system == "IP"

    def __getitem__(self, kind: str) -> Quantity:
        return (_IP if self.inches else _SI)[kind]

    def thickness(self, metres: float) -> str:
        """Return a thickness with its unit."""
        return f"{metres / FOOT * 12.0:.3g} in" if self.inches else f"{metres * 1000.0:.4g} mm"

    def place(self, metres: float) -> str:
        """Return a coordinate: metres, or feet and inches, which carry their marks."""
        return feet(metres) if self.inches else self["length"].text(metres)

    def criterion(self, unit: str, *, difference: bool = False) -> Quantity:
        """Return how values of a criterion with this unit are shown; shares become percentages."""
        if unit == "degC":
            return self["difference" if difference else "temperature"]
        return Quantity(unit, digits=1) if unit.startswith("%") else Quantity("", digits=2)


def feet(value: float) -> str:
    """Return metres in feet and inches, 0.762 as 2′ 6″, to the nearest eighth of an inch."""
    eighths = round(abs(value) / FOOT * 96)
    whole_feet, rest = divmod(eighths, 96)
    whole, part = divmod(rest, 8)
    fraction = "" if not part else " ⅛¼⅜½⅝¾⅞"[part]
    inch = f"{whole if whole or not fraction else ''}{fraction}″"
    sign = "−" if value < 0 and eighths else ""
    return sign + (f"{whole_feet}′ {inch}" if whole_feet else inch)


def number(value: float, digits: int) -> str:
    """Return a number with so many decimals, a true minus sign, and a dash for nan."""
    if not np.isfinite(value):
        return "–"
    text = f"{value:,.{digits}f}"
    if not any(c in "123456789" for c in text):
        text = text.removeprefix("-")
    return text.replace("-", "−")


def significant(value: float, digits: int = 3) -> str:
    """Return a number with so many significant digits."""
    return "–" if not np.isfinite(value) else f"{value:.{digits}g}".replace("-", "−")


def perms(sd: float) -> float:
    """Return the permeance [US perm] of an equivalent air-layer thickness [m]."""
    return AIR_PERMEABILITY / (sd * PERM) if sd > 0.0 else float("inf")
