"""Numbers as laboratories state them: units of both systems that case files have no need of, and moisture contents.

A unit is compared by its letters alone: ``kg/(m² h^0.5)``, ``kg/m2/h^0.5`` and ``kg/(m2·sqrt(h))`` are one. What is
not listed here is left to `stemwall.cases.inputs.units`.
"""

from __future__ import annotations

import re
from typing import Literal, NamedTuple

from stemwall.cases.inputs.units import PERM
from stemwall.cases.inputs.units import read as read_plain
from stemwall.materials.ranges import Kind, Quantity, within
from stemwall.materials.water import GRAVITY, WATER_DENSITY

#: exact by definition: foot, inch [m], pound, ounce [kg], hour, minute, day [s], Btu (International Table) [J]
FOOT, INCH, POUND, OUNCE, BTU = 0.3048, 0.0254, 0.45359237, 0.028349523125, 1055.05585262
MINUTE, HOUR, DAY = 60.0, 3600.0, 86400.0
#: head of water [Pa/m], and millimetre of mercury [Pa] (conventional, 133.322 Pa)
HEAD, MERCURY = WATER_DENSITY * GRAVITY, 133.322
_ROOTS = {"s": 1.0, "min": MINUTE**0.5, "h": HOUR**0.5}
_UPTAKES = {
    "kg/m2": 1.0, "g/m2": 1e-3, "g/cm2": 10.0, "lb/ft2": POUND / FOOT**2, "oz/ft2": OUNCE / FOOT**2, "mm": 1.0,
    "in": 25.4,
}  # fmt: skip
_FLOWS = {"kg": 1.0, "g": 1e-3, "mg": 1e-6, "ng": 1e-12, "lb": POUND, "grain": 64.79891e-6}
_SPEEDS = {"m": 1.0, "cm": 1e-2, "mm": 1e-3, "in": INCH, "ft": FOOT}

#: factors by the unit wanted and the letters of the unit given
FACTORS: dict[str, dict[str, float]] = {
    "kg/(m2 s^0.5)": {
        f"{amount}{'' if '/' in amount else '/'}{root}0.5": factor / seconds
        for amount, factor in _UPTAKES.items()
        for root, seconds in _ROOTS.items()
    },
    "W/(m K)": {
        "W/mK": 1.0, "mW/mK": 1e-3, "Btuin/hft2F": BTU * INCH / (HOUR * FOOT**2 / 1.8), "kcal/mhK": 4186.8 / HOUR,
        "Btu/hftF": BTU / (HOUR * FOOT / 1.8), "Btuft/hft2F": BTU / (HOUR * FOOT / 1.8),
    },
    "J/(kg K)": {"J/kgK": 1.0, "kJ/kgK": 1e3, "J/gK": 1e3, "Btu/lbF": 4186.8, "kcal/kgK": 4186.8, "cal/gK": 4186.8},
    "kg/m^3": {"kg/m3": 1.0, "g/cm3": 1e3, "g/cc": 1e3, "t/m3": 1e3, "lb/ft3": POUND / FOOT**3, "pcf": POUND / FOOT**3},
    "kg/(m2 s Pa)": {
        "kg/m2sPa": 1.0, "ng/m2sPa": 1e-12, "ng/Pasm2": 1e-12, "g/m2dayPa": 1e-3 / DAY, "g/m2hPa": 1e-3 / HOUR,
        "mg/m2hPa": 1e-6 / HOUR, "perm": PERM, "perms": PERM, "USperm": PERM, "grain/hft2inHg": PERM,
        "g/m2daymmHg": 1e-3 / DAY / MERCURY,
    },
    "kg/(m s Pa)": {
        "kg/msPa": 1.0, "ng/msPa": 1e-12, "ng/Pasm": 1e-12, "perminch": PERM * INCH, "permin": PERM * INCH,
        "perm-inch": PERM * INCH, "perm-in": PERM * INCH, "perminches": PERM * INCH, "mg/mhPa": 1e-6 / HOUR,
        "g/mhmmHg": 1e-3 / HOUR / MERCURY,
    },
    "kg/(m2 s)": {
        f"{mass}/{area}{time}": factor / size / seconds
        for mass, factor in _FLOWS.items()
        for area, size in (("m2", 1.0), ("ft2", FOOT**2))
        for time, seconds in (("s", 1.0), ("h", HOUR), ("day", DAY))
    },
    "Pa": {
        "Pa": 1.0, "hPa": 100.0, "kPa": 1e3, "MPa": 1e6, "bar": 1e5, "mbar": 100.0, "psi": POUND * 9.80665 / INCH**2,
        "atm": 101325.0, "mm": HEAD * 1e-3, "cm": HEAD * 1e-2, "m": HEAD, "ft": HEAD * FOOT, "cmH2O": HEAD * 1e-2,
    },
    "m/s of water": {
        f"{length}/{time}": size / seconds
        for length, size in _SPEEDS.items()
        for time, seconds in (("s", 1.0), ("min", MINUTE), ("h", HOUR), ("day", DAY))
    },
    "1/m": {"1/m": 1.0, "1/cm": 100.0, "1/ft": 1.0 / FOOT, "1/in": 1.0 / INCH, "1/kPa": HEAD / 1e3},
    "m2": {"m2": 1.0, "cm2": 1e-4, "mm2": 1e-6, "in2": INCH**2, "ft2": FOOT**2},
    "kg": {"kg": 1.0, "g": 1e-3, "mg": 1e-6, "lb": POUND, "oz": OUNCE},
    "s": {"s": 1.0, "min": MINUTE, "h": HOUR, "day": DAY, "week": 7.0 * DAY},
}  # fmt: skip
_WRITTEN = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(\D.*?)?\s*$", re.ASCII | re.DOTALL)
_SPOKEN = (
    ("²", "2"), ("³", "3"), ("√", "sqrt"), ("½", "0.5"), ("°", "deg"), ("µ", "u"), ("−", "-"), ("·", " "), ("*", " "),
    ("hours", "h"), ("hour", "h"), ("hr", "h"), ("days", "day"), ("degF", "F"), ("degC", "K"), ("lbm", "lb"),
    ("BTU", "Btu"), ("minutes", "min"),
)  # fmt: skip


def letters(unit: str) -> str:
    """Return the letters of a unit: without spaces, brackets and signs of powers, one stroke, roots as powers."""
    for spoken, plain in _SPOKEN:
        unit = unit.replace(spoken, plain)
    unit = re.sub(r"sqrt\s*\(?\s*([a-z]+)\)?", r"\g<1>0.5", unit)
    unit = unit.replace("^(1/2)", "0.5").replace("^1/2", "0.5")
    unit = re.sub(r"[\s()^]", "", unit)
    unit = re.sub(r"(?<=[/2])d(?=$|[/m])", "day", unit)
    top, stroke, bottom = unit.partition("/")
    return top + stroke + bottom.replace("/", "")


def read(value: object, kind: Kind) -> float:
    """Return ``value`` as a float in ``kind.unit``; errors as those of `stemwall.cases.inputs.units.read`."""
    found = _split(value)
    if found is not None:
        number, unit = found
        factor = FACTORS.get(kind.unit, {}).get(letters(unit))
        if factor is not None:
            return within(number * factor, value, kind)
        if kind.unit == "Pa" and unit == "pF":
            return within(HEAD * 0.01 * 10.0**number if number < 10.0 else float("inf"), value, kind)
        if kind.unit in FACTORS:
            raise ValueError(f"{kind.expected}; the unit {unit!r} is unknown here")
    if kind.unit not in FACTORS or not isinstance(value, str):
        return read_plain(value, kind)
    raise ValueError(f"{kind.expected}; a number in quotes needs its unit")


def _split(value: object) -> tuple[float, str] | None:
    """Number and unit of a text that has both."""
    match = _WRITTEN.match(value) if isinstance(value, str) and len(value) < 100 else None
    return (float(match[1]), match[2]) if match is not None and match[2] else None


Basis = Literal["kg/m3", "kg/kg", "m3/m3"]


class Moisture(NamedTuple):
    """A moisture content as it was stated: number, and what it refers to."""

    number: float
    basis: Basis

    def content(self, density: float) -> float:
        """Water content [kg/m3] of a material of a dry density [kg/m3]."""
        return self.number * {"kg/m3": 1.0, "kg/kg": density, "m3/m3": WATER_DENSITY}[self.basis]


_CONTENTS: dict[str, tuple[float, Basis]] = {
    "kg/m3": (1.0, "kg/m3"), "g/cm3": (1e3, "kg/m3"), "g/L": (1.0, "kg/m3"), "lb/ft3": (POUND / FOOT**3, "kg/m3"),
    "pcf": (POUND / FOOT**3, "kg/m3"), "kg/kg": (1.0, "kg/kg"), "g/g": (1.0, "kg/kg"), "lb/lb": (1.0, "kg/kg"),
    "g/kg": (1e-3, "kg/kg"), "mass-%": (1e-2, "kg/kg"), "%mass": (1e-2, "kg/kg"), "wt%": (1e-2, "kg/kg"),
    "wt-%": (1e-2, "kg/kg"), "m3/m3": (1.0, "m3/m3"), "cm3/cm3": (1.0, "m3/m3"), "vol-%": (1e-2, "m3/m3"),
    "vol%": (1e-2, "m3/m3"),
}  # fmt: skip
_MOST: dict[Basis, float] = {"kg/m3": 1000.0, "kg/kg": 20.0, "m3/m3": 1.0}


def read_moisture(value: object, kind: Kind) -> Moisture:
    """Return a moisture content: a plain number in kg/m3, or a text with a unit of volume, mass or either per cent."""
    found = _split(value)
    number = 0.0
    basis: Basis = "kg/m3"
    if isinstance(value, Moisture):
        return value
    if found is not None:
        if letters(found[1]) == "%":
            raise ValueError(f'{kind.expected}; "mass-%" or "vol-%", not per cent alone')
        if letters(found[1]) not in _CONTENTS:
            raise ValueError(f"{kind.expected}; the unit {found[1]!r} is unknown here")
        factor, basis = _CONTENTS[letters(found[1])]
        number = found[0] * factor
    elif isinstance(value, int | float) and not isinstance(value, bool):
        number = float(value) if abs(value) < 1e300 else float("inf")
    else:
        raise ValueError(kind.expected)
    if not 0.0 <= number <= _MOST[basis]:
        raise ValueError(f"{kind.expected}, at most {_MOST[basis]:g} {basis}")
    return Moisture(number, basis)


def _plain_moisture(value: object, kind: Kind) -> float:
    """Number of a moisture content that refers to volume; nothing is unusual about others before density is known."""
    moisture = read_moisture(value, kind)
    return moisture.number if moisture.basis == "kg/m3" else 0.0


def reader(kind: Kind) -> Quantity:
    """Return the mark of a type whose numbers a laboratory states."""
    return Quantity(kind, read, read)


def moisture_reader(kind: Kind) -> Quantity:
    """Return the mark of a type whose numbers are moisture contents."""
    return Quantity(kind, read_moisture, _plain_moisture)
