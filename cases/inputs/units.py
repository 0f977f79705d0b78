"""Numbers with units in a case file: a plain SI number, or a string that carries its unit.

``"8 in"``, ``"2 ft 6 in"``, ``"5 1/2 in"``, ``"R-10"``, ``"0.1 perm"``, ``"70 degF"``,
``"33 kPa"`` and ``"75 %"`` are all read here, and nowhere else; ways to write them that are not so plain are brought to
these by `spellings`.  Each type of `stemwall.cases.inputs.quantities` turns such a value into a float in the SI unit
that its kind names.
"""

from __future__ import annotations

import math
import re
import unicodedata
from functools import cache
from typing import TYPE_CHECKING, Any

from stemwall.cases.inputs.spellings import HEAD_OF_CENTIMETRE, NUMBER, plain_text, plain_unit
from stemwall.materials.ranges import Kind, Quantity, linear, within
from stemwall.materials.water import AIR_PERMEABILITY, WATER_DENSITY

if TYPE_CHECKING:
    import pint

#: 1 US perm at 23 degC [kg/(s m2 Pa)] (ASTM E96 conversion, 57.45 ng/(s m2 Pa))
PERM = 57.45e-12
#: 1 h ft2 degF/Btu [m2 K/W] (exact to four figures from 0.3048 m, 1055.056 J, 5/9 K)
US_RESISTANCE = 0.1761

#: factors of the commonest units by the unit wanted, exact by definition; all others are left to the unit
#: registry, whose import and making take a fifth of a second
COMMON: dict[str, dict[str, float]] = {
    "m": {"m": 1.0, "cm": 0.01, "mm": 0.001, "in": 0.0254, "ft": 0.3048, "thou": 25.4e-6},
    "mm": {"mm": 1.0, "cm": 10.0, "in": 25.4, "thou": 0.0254},
    "Pa": {"Pa": 1.0, "kPa": 1000.0},
    "degree": {"deg": 1.0, "degree": 1.0},
    "hour": {"hour": 1.0, "h": 1.0, "day": 24.0, "week": 168.0},
    "s": {"s": 1.0, "min": 60.0, "hour": 3600.0},
    "m/s": {"m/s": 1.0, "L/s/m^2": 0.001, "ft^3/min/ft^2": 0.3048 / 60.0},
}

#: letters of a quantity: "12 ft 11 15/16 in" has seventeen
LONGEST = 60
_FRACTION = r"(?:(?:\s+|-)(\d+)\s*/\s*(\d+)|\s*/\s*(\d+))?"
_TERM = re.compile(rf"\s*({NUMBER}){_FRACTION}\s*(1?[^\s\d.+-]\S*)?", re.ASCII)
_ONE = re.compile(rf"\s*({NUMBER}){_FRACTION}\s*(.*)", re.ASCII | re.DOTALL)
_R_VALUE = re.compile(rf"\s*R\s*-?\s*({NUMBER})\s*$", re.ASCII)
#: a unit is a product of named units with small powers, e.g. "kg/m^2/day" or "Btu/(h*ft^2*degF)", no expression
_FACTOR = re.compile(r"([*/]|^1/|^)([A-Za-z_µ]{1,24})(?:(?:\^|\*\*)(-?\d))?(?=[*/]|$)", re.ASCII)
_GROUP = re.compile(r"/\(([^()/]*)\)")
_NO_PLAIN_UNIT = {"degF": "delta_degF", "degC": "delta_degC"}
_LOOK = str.maketrans(
    {"−": "-", "–": "-", "—": "-", "‐": "-", "″": " in", "”": " in", "′": " ft", "’": " ft", "％": "%"}
)

#: an equivalent air-layer thickness is read in metres, or from a permeance
SD_READINGS = {
    "{} mm": linear(1e-3), "{} m": linear(1.0),
    "{} perm": lambda perms: AIR_PERMEABILITY / (perms * PERM) if perms > 0 else 0.0,
}  # fmt: skip


@cache
def registry() -> pint.UnitRegistry[Any]:
    """Return the unit registry, with the units of vapour, air and heads of water that it lacks."""
    import pint

    units: pint.UnitRegistry[Any] = pint.UnitRegistry()
    units.define(f"perm = {PERM} * kilogram / second / meter**2 / pascal")
    units.define("perm_inch = perm * inch")
    units.define("rep = 1 / perm")
    units.define("cfm = foot**3 / minute")
    units.define(f"cm_of_water = {HEAD_OF_CENTIMETRE} * pascal")
    units.define("ft_of_water = 30.48 * cm_of_water")
    units.define("in_of_water = 2.54 * cm_of_water")
    return units


def read(value: object, kind: Kind) -> float:
    """Return ``value`` as a float in ``kind.unit``.

    Parameters
    ----------
    value : object
        A number in SI, or a string with a unit.
    kind : Kind
        What is expected.

    Returns
    -------
    float
        The value in ``kind.unit``.

    Raises
    ------
    ValueError
        If it is no finite number, has another dimension or lies outside the limits;
        the text says what was expected.

    Examples
    --------
    >>> round(read("2 ft 6 in", LENGTH), 4)
    0.762
    >>> round(read("0.1 perm", SD), 1)
    34.2
    """
    return within(_number(value, kind), value, kind)


def _number(value: object, kind: Kind) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise ValueError(kind.expected)
    if not isinstance(value, str):
        return math.inf if abs(value) > 1e300 else float(value)
    if len(value) > LONGEST:
        raise ValueError(f"{kind.expected}; {len(value):,} letters are too many")
    try:
        text = plain_text(value, kind)
        r_value = _R_VALUE.match(text)
        if r_value:
            if kind.unit != "m^2*K/W":
                raise ValueError(f"{kind.expected}; an R-value is a thermal resistance")
            return float(r_value[1]) * US_RESISTANCE
        return _sum([_convert(number, unit, kind) for number, unit in _terms(text, kind)])
    except ValueError as error:
        plain = _plain(value)
        if plain == value:
            raise
        raise ValueError(f'{kind.expected}, in plain digits with "." and "-"; did you mean "{plain}"?') from error


def _plain(text: str) -> str:
    """Return a text with what looks like a digit, a minus sign, a decimal point or a space as that."""
    digits = "".join(
        str(unicodedata.digit(mark)) if unicodedata.category(mark) == "Nd" else
        " " if unicodedata.category(mark) == "Zs" else mark
        for mark in text.translate(_LOOK)
    )  # fmt: skip
    return re.sub(r"(?<=\d),(?=\d)", ".", digits).strip() if digits.count(",") == 1 else digits.strip()


def _sum(parts: list[float]) -> float:
    """Sum of the terms of a quantity; a sign before the first holds for all: -2 ft 6 in are two and a half feet."""
    return -sum(abs(part) for part in parts) if math.copysign(1.0, parts[0]) < 0 else sum(parts)


def _terms(text: str, kind: Kind) -> list[tuple[float, str]]:
    """Split "2 ft 6 1/2 in" into [(2, "ft"), (6.5, "in")]; other quantities have one term, with spaces in its unit."""
    several = kind.unit in ("m", "mm") and kind.readings is not SD_READINGS
    terms, position = [], 0
    while position < len(text.rstrip()):
        match = (_TERM if several else _ONE).match(text, position)
        if match is None:
            raise ValueError(kind.expected)
        whole, top, bottom, divisor, unit = match.groups()
        number = float(whole)
        below = int(bottom or divisor or 1)
        if below == 0:
            raise ValueError(f"{kind.expected}; nothing can be divided by 0")
        number = number + math.copysign(int(top) / below, number) if bottom else number / below
        terms.append((number, (unit or "").strip()))
        position = match.end()
    if not terms or any(number < 0 for number, _ in terms[1:]):
        raise ValueError(kind.expected)
    return terms


def _convert(number: float, unit: str, kind: Kind) -> float:
    said, unit = unit, plain_unit(unit, kind)
    if kind.unit in ("1", ""):
        return _share(number, unit, kind)
    if not unit:
        raise ValueError(f"{kind.expected}; a number in quotes needs its unit")
    if kind.readings is SD_READINGS and unit == "perm":
        return _sd(number * PERM, kind)
    known = _common(number, unit, kind)
    if known is not None:
        return known
    import pint

    try:
        quantity = registry().Quantity(number, _unit(unit, kind))
        return _in_unit(quantity, kind)
    except pint.DimensionalityError as error:
        raise ValueError(f"{kind.expected}; {said!r} measures something else") from error
    except (pint.PintError, ValueError, TypeError, AttributeError, ArithmeticError) as error:
        if str(error).startswith(kind.expected):
            raise
        raise ValueError(f"{kind.expected}; the unit {said!r} is unknown") from error


def _in_unit(quantity: pint.Quantity[Any], kind: Kind) -> float:
    """Return a quantity in the unit of its kind: vapour resistances as s_d, volumes of water as its mass."""
    units = registry()
    if kind.readings is SD_READINGS and not quantity.check("[length]"):
        if quantity.is_compatible_with(units.Unit("perm")):
            return _sd(float(quantity.to("kg/s/m^2/Pa").magnitude), kind)
        if quantity.is_compatible_with(units.Unit("perm_inch")):
            raise ValueError(f"{kind.expected}; a permeability is that of a thickness, which is not stated")
        return float(quantity.to("s*m^2*Pa/kg").magnitude) * AIR_PERMEABILITY
    if kind.unit.startswith("kg/m") and "water" in kind.name and not quantity.is_compatible_with(kind.unit):
        quantity = quantity * units.Quantity(WATER_DENSITY, "kg/m^3")
    return float(quantity.to(kind.unit).magnitude)


def _share(number: float, unit: str, kind: Kind) -> float:
    """Return a number without dimension, or per cent of one where the kind takes them."""
    if not unit:
        return number
    if unit == "%" and kind.unit == "1":
        return number / 100.0
    if "humidity" in kind.name and "/" in unit:
        raise ValueError(f"{kind.expected}; {unit!r} is a humidity ratio, which says this only with a temperature")
    raise ValueError(f"{kind.expected}; {unit!r} measures something else")


def _unit(text: str, kind: Kind) -> pint.Unit:
    """Return a unit made of named units and small powers; nothing is evaluated that could be an expression."""
    flat = _GROUP.sub(lambda group: "/" + group[1].replace("*", "/") if "**" not in group[1] else "(", text)
    factors = list(_FACTOR.finditer(flat))
    if not factors or "".join(factor[0] for factor in factors) != flat or len(factors) > 8:
        raise ValueError("no unit")
    units = registry()
    whole = units.Unit("")
    for sign, name, power in (factor.groups() for factor in factors):
        if kind.difference or len(factors) > 1:
            name = _NO_PLAIN_UNIT.get(name, name)
        one = units.Unit(name) ** int(power or 1)
        whole = whole / one if sign.endswith("/") else whole * one
    return whole


def _common(number: float, unit: str, kind: Kind) -> float | None:
    """Return a number in the unit wanted, None if that takes the unit registry."""
    if kind.unit in ("degC", "K"):
        if unit == "degF":
            return number / 1.8 if kind.difference else (number + 459.67) / 1.8 - 273.15
        return number if unit == "degC" or (unit == "K" and kind.difference) else None
    factor = COMMON.get(kind.unit, {}).get(unit)
    return None if factor is None else number * factor


def _sd(permeance: float, kind: Kind) -> float:
    """Return s_d [m] of a permeance [kg/(s m2 Pa)]: still air of that thickness lets as much through."""
    if permeance <= 0.0:
        raise ValueError(f"{kind.expected}; a permeance above zero")
    return AIR_PERMEABILITY / permeance


def reader(kind: Kind) -> Quantity:
    """Return the mark of a type whose value is one quantity of this kind, with a unit or in SI."""
    return Quantity(kind, read, read)
