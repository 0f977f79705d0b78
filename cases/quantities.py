"""Quantities in a case file: a plain SI number, or a string that carries its unit.

``"8 in"``, ``"2 ft 6 in"``, ``"5 1/2 in"``, ``"R-10"``, ``"0.1 perm"``, ``"70 degF"``,
``"33 kPa"`` and ``"75 %"`` are all read here, and nowhere else.  Each annotated type
below turns such a value into a float in the SI unit that it names.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, partial
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import BeforeValidator

if TYPE_CHECKING:
    import pint

#: 1 US perm at 23 degC [kg/(s m2 Pa)] (ASTM E96 conversion, 57.45 ng/(s m2 Pa))
PERM = 57.45e-12
#: 1 h ft2 degF/Btu [m2 K/W] (exact to four figures from 0.3048 m, 1055.056 J, 5/9 K)
US_RESISTANCE = 0.1761
#: water vapour permeability of still air at 23 degC, 2.0e-7 T^0.81 / P [kg/(m s Pa)], P = 101325 Pa
AIR_PERMEABILITY = 2.0e-7 * 296.15**0.81 / 101325.0

#: factors of the commonest units by the unit wanted, exact by definition; all others are left to the unit
#: registry, whose import and making take a fifth of a second
COMMON: dict[str, dict[str, float]] = {
    "m": {"m": 1.0, "cm": 0.01, "mm": 0.001, "in": 0.0254, "ft": 0.3048},
    "mm": {"mm": 1.0, "cm": 10.0, "in": 25.4},
    "Pa": {"Pa": 1.0, "kPa": 1000.0},
    "degree": {"deg": 1.0, "degree": 1.0},
    "hour": {"hour": 1.0, "h": 1.0, "day": 24.0, "week": 168.0},
    "s": {"s": 1.0, "min": 60.0, "hour": 3600.0},
}

_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_FRACTION = r"(?:(?:\s+|-)(\d+)\s*/\s*(\d+)|\s*/\s*(\d+))?"
_TERM = re.compile(rf"\s*({_NUMBER}){_FRACTION}\s*([^\s\d.+-]\S*)?")
_R_VALUE = re.compile(rf"\s*R\s*-?\s*({_NUMBER})\s*$")


@dataclass(frozen=True)
class Kind:
    """One kind of quantity: its SI unit, its limits, and how to ask for it.

    Parameters
    ----------
    name : str
        What a message calls it, with article.
    unit : str
        Unit of the float that comes out.
    examples : str
        Accepted spellings, for messages.
    low, high : float
        Smallest and largest accepted value in ``unit``.
    open_low : bool
        Whether ``low`` itself is refused.
    difference : bool
        Whether a temperature is meant as a difference.
    """

    name: str
    unit: str
    examples: str
    low: float = -math.inf
    high: float = math.inf
    open_low: bool = False
    difference: bool = False


LENGTH = Kind("a length", "m", '0.2, "8 in", "2 ft 6 in" or "200 mm"')
THICKNESS = Kind("a length above zero", "m", '0.2, "8 in" or "200 mm"', low=0.0, open_low=True)
EXTENT = Kind("a length of zero or more", "m", '0, 0.2, "8 in" or "200 mm"', low=0.0)
TEMPERATURE = Kind("a temperature between −90 and 90 °C", "degC", '21, "21 degC" or "70 degF"', -90.0, 90.0)
DIFFERENCE = Kind("a temperature difference", "K", '10, "10 K" or "18 degF"', 0.0, 100.0, difference=True)
FRACTION = Kind("a share between 0 and 1", "1", '0.75 or "75 %"', 0.0, 1.0)
HUMIDITY = Kind("a relative humidity above 0 and up to 1", "1", '0.75 or "75 %"', 0.0, 1.0, open_low=True)
SD = Kind("an equivalent air-layer thickness or a permeance", "m", '50, "50 m" or "0.1 perm"', 0.0)
RESISTANCE = Kind("a thermal resistance", "m^2*K/W", '1.76, "1.76 m^2*K/W" or "R-10"', 0.0)
SUCTION = Kind("a suction of zero or more", "Pa", '33000, "33 kPa" or "0.33 bar"', 0.0)
DURATION = Kind("a duration above zero in hours", "hour", '168, "1 week" or "12 hour"', 0.0, open_low=True)
STEP = Kind("a duration above zero in seconds", "s", '60, "60 s" or "5 min"', 0.0, open_low=True)
RAINFALL = Kind("a yearly rainfall in millimetres", "mm", '800, "800 mm" or "32 in"', 0.0, 20000.0)
ANGLE = Kind("an angle between 0 and 360 degrees", "degree", '180 or "180 deg"', 0.0, 360.0)
DIFFUSIVITY = Kind("a thermal diffusivity", "m^2/day", '0.05 or "0.6 mm^2/s"', 0.0, open_low=True)


@cache
def registry() -> pint.UnitRegistry[Any]:
    """Return the unit registry, with the US perm added."""
    import pint

    units: pint.UnitRegistry[Any] = pint.UnitRegistry()
    units.define(f"perm = {PERM} * kilogram / second / meter**2 / pascal")
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
    34.5
    """
    number = _number(value, kind)
    if not math.isfinite(number):
        raise ValueError(f"{_expected(kind)}, a finite number")
    if number < kind.low or number > kind.high or (kind.open_low and number == kind.low):
        raise ValueError(_expected(kind))
    return number


def _number(value: object, kind: Kind) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise ValueError(_expected(kind))
    if not isinstance(value, str):
        return float(value)
    r_value = _R_VALUE.match(value)
    if r_value:
        if kind is not RESISTANCE:
            raise ValueError(f"{_expected(kind)}; an R-value is a thermal resistance")
        return float(r_value[1]) * US_RESISTANCE
    return sum(_convert(number, unit, kind) for number, unit in _terms(value, kind))


def _terms(text: str, kind: Kind) -> list[tuple[float, str]]:
    """Split "2 ft 6 1/2 in" into [(2, "ft"), (6.5, "in")]."""
    terms, position = [], 0
    while position < len(text.rstrip()):
        match = _TERM.match(text, position)
        if match is None:
            raise ValueError(_expected(kind))
        whole, top, bottom, divisor, unit = match.groups()
        number = float(whole)
        if bottom and int(bottom):
            number += math.copysign(int(top) / int(bottom), number)
        elif divisor and int(divisor):
            number /= int(divisor)
        terms.append((number, unit or ""))
        position = match.end()
    if not terms or (len(terms) > 1 and kind.unit not in ("m", "mm")):
        raise ValueError(_expected(kind))
    return terms


def _convert(number: float, unit: str, kind: Kind) -> float:
    unit = unit.replace("°", "deg").replace("²", "^2")
    if unit in ("%", "") and kind.unit == "1":
        return number / 100.0 if unit else number
    if not unit:
        raise ValueError(f"{_expected(kind)}; a number in quotes needs its unit")
    if kind is SD and unit == "perm":
        return _sd(number, kind)
    known = _common(number, unit, kind)
    if known is not None:
        return known
    import pint

    units = registry()
    if kind.difference:
        unit = {"degF": "delta_degF", "degC": "delta_degC"}.get(unit, unit)
    try:
        return float(units.Quantity(number, unit).to(kind.unit).magnitude)
    except pint.DimensionalityError as error:
        raise ValueError(f"{_expected(kind)}; {unit!r} measures something else") from error
    except (pint.PintError, ValueError, TypeError, AttributeError) as error:
        raise ValueError(f"{_expected(kind)}; the unit {unit!r} is unknown") from error


def _common(number: float, unit: str, kind: Kind) -> float | None:
    """Return a number in the unit wanted, None if that takes the unit registry."""
    if kind.unit in ("degC", "K"):
        if unit == "degF":
            return number / 1.8 if kind.difference else (number + 459.67) / 1.8 - 273.15
        return number if unit == "degC" or (unit == "K" and kind.difference) else None
    factor = COMMON.get(kind.unit, {}).get(unit)
    return None if factor is None else number * factor


def _sd(perms: float, kind: Kind) -> float:
    """Return s_d [m] of a permeance [perm]: still air of that thickness lets as much through."""
    if perms <= 0.0:
        raise ValueError(f"{_expected(kind)}, above zero")
    return AIR_PERMEABILITY / (perms * PERM)


def _expected(kind: Kind) -> str:
    return f"{kind.name}, e.g. {kind.examples}"


def reader(kind: Kind) -> BeforeValidator:
    """Return the pydantic validator that reads one kind of quantity."""
    parse: Callable[[object], float] = partial(read, kind=kind)
    return BeforeValidator(parse)


Length = Annotated[float, reader(LENGTH)]
Thickness = Annotated[float, reader(THICKNESS)]
Extent = Annotated[float, reader(EXTENT)]
Temperature = Annotated[float, reader(TEMPERATURE)]
Difference = Annotated[float, reader(DIFFERENCE)]
Fraction = Annotated[float, reader(FRACTION)]
Humidity = Annotated[float, reader(HUMIDITY)]
SdValue = Annotated[float, reader(SD)]
Resistance = Annotated[float, reader(RESISTANCE)]
Suction = Annotated[float, reader(SUCTION)]
Duration = Annotated[float, reader(DURATION)]
Step = Annotated[float, reader(STEP)]
Rainfall = Annotated[float, reader(RAINFALL)]
Angle = Annotated[float, reader(ANGLE)]
Diffusivity = Annotated[float, reader(DIFFUSIVITY)]
