"""Ways in which people write quantities of both systems, brought to the plain ones that `units` reads.

``2'-6"``, ``8"``, ``0.1 perms``, ``30 F``, ``1:150``, ``0.3 ACH``, ``100 ng/(Pa s m2)``, ``RSI-1.76``, ``2.5 pF``
and ``southwest`` are read here as ``2 ft 6 in``, ``8 in``, ``0.1 perm``, ``30 degF``, ``0.006667``, ``0.3 1/hour``,
``100 ng/(Pa*s*m^2)``, ``1.76 m^2*K/W``, ``31.01 kPa`` and ``225``.
"""

from __future__ import annotations

import re

from stemwall.materials.ranges import Kind

NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"

POINTS = ("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW")
"""Points of the compass, clockwise from north, 22.5 degrees apart."""

WORDS = {
    "north": "N", "northeast": "NE", "east": "E", "southeast": "SE", "south": "S", "southwest": "SW", "west": "W",
    "northwest": "NW",
}  # fmt: skip

WHOLE_UNITS = {
    "perms": "perm", "US perm": "perm", "US perms": "perm", "usperm": "perm", "perm-inch": "perm_inch",
    "perm-inches": "perm_inch", "perm inch": "perm_inch", "perm in": "perm_inch", "perm-in": "perm_inch",
    "reps": "rep", "mil": "thou", "mils": "thou", "percent": "%", "ACH": "1/hour", "ach": "1/hour",
    "per hour": "1/hour", "/h": "1/hour", "air changes per hour": "1/hour", "inches": "in", "feet": "ft", "foot": "ft",
    "inch": "in",
    "ftH2O": "ft_of_water", "ft of water": "ft_of_water", "inH2O": "in_of_water", "in of water": "in_of_water",
    "cmH2O": "cm_of_water", "cm of water": "cm_of_water", "deg F": "degF", "deg C": "degC", "deg": "degree",
}  # fmt: skip
"""Units as they are written as a whole, and what they are."""

NAMES = {"F": "degF", "C": "degC", "gal": "gallon", "gallons": "gallon", "pints": "pint", "days": "day", "yr": "year",
         "hr": "hour", "lbs": "lb", "BTU": "Btu"}  # fmt: skip
"""Names within a unit."""

HEAD_OF_CENTIMETRE = 98.0665
"""Pressure of a centimetre of water at 4 degC [Pa], exact by convention; pF is the logarithm of a suction in it."""

_POWER = re.compile(r"(?<![A-Za-z_])(m|cm|mm|km|in|ft|yd|inch)([23])(?![\d.])", re.ASCII)
_NAME = re.compile(r"[A-Za-z_]+", re.ASCII)
_RATIO = re.compile(rf"\s*({NUMBER})\s*:\s*({NUMBER})\s*", re.ASCII)
_PF = re.compile(rf"\s*(?:pF\s*=?\s*({NUMBER})|({NUMBER})\s*pF)\s*", re.ASCII)
_RSI = re.compile(rf"\s*RSI\s*[- ]?\s*({NUMBER})\s*", re.ASCII)
_FEET = re.compile(r"(?<=[\d.])\s*(?:'|′|’|\bft\b|\bfeet\b|\bfoot\b)\s*-?\s*(?=\d)")


def plain_text(text: str, kind: Kind) -> str:
    """Return a quantity as `units` reads it, in the unit that the kind of number suggests where there is none.

    Parameters
    ----------
    text : str
        As a person wrote it.
    kind : Kind
        What is expected, which tells a suction from a length.
    """
    if kind.unit in ("m", "mm"):
        return _length(text)
    if kind.unit == "degree" and kind.high == 360.0:
        return _direction(text)
    if kind.unit == "1" and (match := _RATIO.fullmatch(text)) and float(match[2]):
        return repr(float(match[1]) / float(match[2]))
    if kind.unit == "Pa" and "suction" in kind.name and (match := _PF.fullmatch(text)):
        power = float(match[1] or match[2])
        return f"{HEAD_OF_CENTIMETRE * 10.0**power!r} Pa" if power < 20 else text
    if kind.unit == "m^2*K/W":
        text = re.sub(r"\s+ci\s*$", "", text)  # continuous insulation
        if match := _RSI.fullmatch(text):
            return f"{match[1]} m^2*K/W"
    return text


def _length(text: str) -> str:
    """Feet and inches by their marks; a hyphen between the two is none of a number."""
    return re.sub(r"(?<=[\d.])\s*(?:\"|″|”|'')", " in", _feet(text)).strip()


def _feet(text: str) -> str:
    joined = _FEET.sub(" ft ", text)
    return re.sub(r"(?<=\d)\s*(?:'(?!')|′|’)", " ft", joined)


def _direction(text: str) -> str:
    """A point of the compass as degrees from north, any other text as it is."""
    word = re.sub(r"[\s-]", "", text).casefold()
    point = WORDS.get(word, word.upper())
    return f"{POINTS.index(point) * 22.5:g}" + " degree" if point in POINTS else text


def plain_unit(unit: str, kind: Kind) -> str:
    """Return a unit by the names and signs of the unit registry; nothing is looked up."""
    unit = unit.strip().replace("°", "deg").replace("²", "^2").replace("³", "^3").replace("·", "*").replace("µ", "u")
    if kind.unit == "mm" and "yearly" in kind.name:
        unit = re.sub(r"\s*/\s*(year|yr|a)$", "", unit)
    if unit in WHOLE_UNITS:
        return WHOLE_UNITS[unit]
    unit = _POWER.sub(r"\1^\2", unit)
    unit = re.sub(r"\s*([*/()^])\s*", r"\1", unit)
    unit = re.sub(r"\s+", "*", unit)
    return _NAME.sub(lambda name: NAMES.get(name[0], name[0]), unit)
