"""What a number measures, where it must lie and usually lies, and which slip of the unit explains one that does not."""

import math
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from pydantic import GetCoreSchemaHandler
from pydantic_core import CoreSchema, core_schema

#: how a number may be written with another unit, and what it is then in the unit of the kind
Readings = Mapping[str, Callable[[float], float]]


def linear(factor: float, offset: float = 0.0) -> Callable[[float], float]:
    """Return the reading of a unit that is proportional to the wanted one, up to an offset."""
    return lambda number: factor * number + offset


_LB_FT3 = 0.45359237 / 0.3048**3
_BTU_IN = 1055.05585262 / 3600.0 * 0.0254 / 0.3048**2 * 1.8
_R = 0.1761
#: other common ways to write a number of some unit; exact by definition but for R, see `quantities.US_RESISTANCE`
READINGS: dict[str, Readings] = {
    "m": {
        "{} in": linear(0.0254), "{} ft": linear(0.3048), "{} mm": linear(1e-3), "{} cm": linear(0.01),
        "{} m": linear(1.0),
    },
    "mm": {"{} in": linear(25.4), "{} cm": linear(10.0), "{} m": linear(1000.0)},
    "degC": {"{} degF": linear(1 / 1.8, -32 / 1.8), "{} K": linear(1.0, -273.15)},
    "K": {"{} degF": linear(1 / 1.8)},
    "1": {"{} %": linear(0.01), "{}": linear(1.0)},
    "m^2*K/W": {"R-{}": linear(_R), "{} m^2*K/W": linear(1.0)},
    "Pa": {"{} kPa": linear(1e3), "{} bar": linear(1e5)},
    "hour": {"{} day": linear(24.0), "{} week": linear(168.0), "{} s": linear(1 / 3600)},
    "s": {"{} min": linear(60.0), "{} hour": linear(3600.0)},
    "m^2/day": {"{} m^2/s": linear(86400.0), "{} mm^2/s": linear(0.0864), "{} ft^2/day": linear(0.3048**2)},
    "m^2/s": {"{} mm^2/s": linear(1e-6), "{} m^2/day": linear(1 / 86400), "{} m^2/hour": linear(1 / 3600)},
    "m/s": {"{} L/s/m^2": linear(1e-3), "{} ft^3/min/ft^2": linear(0.00508)},
    "kg/m^3": {"{} g/cm3": linear(1000.0), "{} lb/ft3": linear(_LB_FT3)},
    "J/(kg K)": {"{} kJ/(kg K)": linear(1000.0), "{} Btu/(lb degF)": linear(4186.8)},
    "W/(m K)": {"{} mW/(m K)": linear(1e-3), "{} Btu in/(h ft2 degF)": linear(_BTU_IN)},
    "kg/(m2 s^0.5)": {
        "{} kg/(m2 h^0.5)": linear(1 / 60), "{} g/(m2 s^0.5)": linear(1e-3), "{} kg/(m2 min^0.5)": linear(60**-0.5),
    },
    "m3/m3": {"{} %": linear(0.01)},
    "kg/m3 of water": {"{} m3/m3": linear(1000.0), "{} % by volume": linear(10.0)},
    "1/m": {"{} 1/cm": linear(100.0), "{} 1/kPa": linear(9.807)},
    "m/s of water": {"{} m/day": linear(1 / 86400), "{} cm/day": linear(0.01 / 86400), "{} cm/h": linear(0.01 / 3600)},
}  # fmt: skip
_WRITTEN = re.compile(r"\s*(?:R\s*-?\s*)?([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*([^\s\d.+-]\S*)?\s*$", re.ASCII)


@dataclass(frozen=True, eq=False)
class Kind:
    """One kind of number: its unit, its limits, where it usually lies, and how to ask for it.

    Parameters
    ----------
    name : str
        What a message calls it, with article.
    unit : str
        Unit of the float that comes out; "" for a count or a ratio that takes no per cent.
    examples : str
        Accepted spellings, for messages.
    low, high : float
        Smallest and largest accepted value in ``unit``: physical or numerical limits.
    usual : (float, float)
        Where values of buildings lie, common practice, no source; what lies outside is asked about, not refused.
        Zero is always usual where it is allowed.
    open_low : bool
        Whether ``low`` itself is refused.
    difference : bool
        Whether a temperature is meant as a difference.
    whole : bool
        Whether it is a whole number.
    readings : Readings or None
        Other ways to write it; by default those of its unit in `READINGS`.
    """

    name: str
    unit: str
    examples: str = ""
    low: float = -math.inf
    high: float = math.inf
    usual: tuple[float, float] = (-math.inf, math.inf)
    open_low: bool = False
    difference: bool = False
    whole: bool = False
    readings: Readings | None = None

    def of(
        self,
        name: str,
        low: float,
        high: float,
        usual: tuple[float, float],
        *,
        open_low: bool | None = None,
        examples: str | None = None,
    ) -> "Kind":
        """Return the same kind of number with other limits; ``open_low`` and ``examples`` by default as here."""
        opened = self.open_low if open_low is None else open_low
        shown = self.examples if examples is None else examples
        return replace(self, name=name, low=low, high=high, usual=usual, open_low=opened, examples=shown)

    def holds(self, number: float) -> bool:
        """Whether a number lies within the limits."""
        return self.low <= number <= self.high and not (self.open_low and number == self.low)

    def is_usual(self, number: float) -> bool:
        """Whether a number that lies within the limits asks for no second look; limits carry rounding."""
        low, high = self.usual
        slack = 1e-9 * max(abs(low), abs(high))
        return number == 0.0 or low - slack <= number <= high + slack

    @property
    def expected(self) -> str:
        """What is asked for: name, limits and examples."""
        text = f"{self.name} {self._limits}".rstrip()
        return f"{text}, e.g. {self.examples}" if self.examples else text

    @property
    def _limits(self) -> str:
        unit = "" if self.unit in ("", "1") else f" {spoken(self.unit)}"
        if math.isinf(self.high):
            return "" if math.isinf(self.low) else f"{'above' if self.open_low else 'of at least'} {self.low:g}{unit}"
        if self.open_low:
            return f"above {minus(self.low)} and up to {minus(self.high)}{unit}"
        return f"between {minus(self.low)} and {minus(self.high)}{unit}"

    @property
    def usually(self) -> str:
        """Where values usually lie, with unit."""
        unit = "" if self.unit in ("", "1") else f" {spoken(self.unit)}"
        return f"usually {minus(self.usual[0])} to {minus(self.usual[1])}{unit}"

    def written(self, given: object) -> str:
        """Return a value as it was written, a bare number with the unit that was taken."""
        if isinstance(given, str):
            return f'"{given}"'
        return f"{given} {spoken(self.unit)}" if self.unit not in ("", "1") else str(given)

    def slip(self, given: object) -> str:
        """Return 'did you mean "70 degF"?' for a value that is usual in one or two other units, else nothing."""
        number, unit = measured(given)
        if not math.isfinite(number) or number == 0.0:
            return ""
        readings = READINGS.get(self.unit, {}) if self.readings is None else self.readings
        texts = []
        for form, reading in readings.items():
            meant = reading(number)
            if form.strip("{} -") != unit and self.usual[0] <= meant <= self.usual[1] and not self._same(given, meant):
                texts.append(self._shown(form.format(f"{number:g}"), meant))
        return f"did you mean {' or '.join(texts)}?" if 1 <= len(texts) <= 2 else ""

    def _same(self, given: object, meant: float) -> bool:
        return isinstance(given, int | float) and given == meant

    def _shown(self, text: str, meant: float) -> str:
        """A value as it would stand in the file: texts with units where they are read, else the number."""
        if not self.examples:
            return f"{meant:.5g}, which is {text}"
        return text if text.replace(".", "").isdigit() else f'"{text}"'


def spoken(unit: str) -> str:
    """Return a unit as a message says it."""
    said = {"degC": "°C", "kg/m3 of water": "kg/m3", "m/s of water": "m/s", "m^2*K/W": "m2K/W", "hour": "h"}
    return said.get(unit, unit)


def minus(number: float) -> str:
    """Return a number in few digits with a true minus sign."""
    text = f"{number:.6g}" if abs(number) < 1e-4 or abs(number) >= 1e7 else f"{number:,.6g}"
    return text if "e" in text else text.replace("-", "−")


def measured(given: object) -> tuple[float, str]:
    """Return number and unit of a value as a person wrote it; nan if it is not one number with at most one unit."""
    if isinstance(given, bool):
        return math.nan, ""
    if isinstance(given, int | float):
        return (float(given), "") if abs(given) < 1e300 else (math.nan, "")
    match = _WRITTEN.match(given) if isinstance(given, str) and len(given) < 100 else None
    if match is None:
        return math.nan, ""
    return float(match[1]), match[2] or ("R" if "R" in match[0] else "")


def bare(value: object, kind: Kind) -> float:
    """Return a plain number of some kind.

    Raises
    ------
    ValueError
        If it is none, or lies outside the limits; the text says what was expected.
    """
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(kind.expected)
    number = math.inf if abs(value) > 1e300 else float(value)
    if kind.whole and math.isfinite(number) and number != math.floor(number):
        raise ValueError(f"{kind.expected}, a whole number")
    return within(number, value, kind)


def within(number: float, given: object, kind: Kind) -> float:
    """Return the number if it lies within the limits of its kind.

    Parameters
    ----------
    number : float
        In the unit of the kind.
    given : object
        What was written.
    kind : Kind
        What is expected.

    Raises
    ------
    ValueError
        What is expected, and the slip of unit that explains the value.
    """
    if not math.isfinite(number):
        raise ValueError(f"{kind.expected}, a finite number")
    if not kind.holds(number):
        raise ValueError("; ".join(filter(None, (kind.expected, kind.slip(given)))))
    return number + 0.0  # no negative zero


def leaves(given: object) -> Iterator[object]:
    """Yield the numbers of a value as it was written, out of lists within lists; tables have fields of their own."""
    if isinstance(given, Sequence) and not isinstance(given, str):
        for item in given:
            yield from leaves(item)
    elif not isinstance(given, Mapping) and given is not None:
        yield given


@dataclass(frozen=True, eq=False)
class Quantity:
    """Marks the type of a field: what its numbers are, and how they are read before pydantic looks at them.

    Parameters
    ----------
    kind : Kind
        What the numbers are.
    read : callable
        Reads a whole value: ``read(value, kind)``.
    number : callable
        Reads one number of it.
    leaves : callable
        Yields the numbers of a value as it was written.
    """

    kind: Kind
    read: Callable[[object, Kind], Any] = bare
    number: Callable[[object, Kind], float] = bare
    leaves: Callable[[object], Iterator[object]] = leaves

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_before_validator_function(self._validate, handler(source))

    def _validate(self, value: object) -> Any:
        return self.read(value, self.kind)

    def doubts(self, given: object) -> Iterator[tuple[str, str]]:
        """Yield (found, expected) of what is unusual about the numbers of a valid value, as it was written."""
        for leaf in self.leaves(given):
            try:
                number = self.number(leaf, self.kind)
            except ValueError:
                continue
            if not self.kind.is_usual(number):
                yield self.kind.written(leaf), "; ".join(filter(None, (self.kind.usually, self.kind.slip(leaf))))
