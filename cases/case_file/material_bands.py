"""The band of a number of a material, for a set of draws that asks for it by the path of the number."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from stemwall.materials.problems import MaterialError, UnknownMaterialError
from stemwall.materials.stated_numbers import stated_numbers

PATH = '"material.ID.PROPERTY.NUMBER", such as "material.concrete_wc050.liquid.coefficient"'


class NoBandError(ValueError):
    """There is no band at a path; ``found`` and ``expected`` say what is there instead."""

    def __init__(self, found: str, expected: str) -> None:
        super().__init__(f"found {found}; expected {expected}")
        self.found, self.expected = found, expected


def material_band(path: str, own: Mapping[str, Any]) -> tuple[float, float, float]:
    """Return lower end, value and upper end of the band of a number.

    Parameters
    ----------
    path : str
        Dotted path of the number in a case file.
    own : mapping
        Materials that the case brings itself, by id.

    Raises
    ------
    NoBandError
        If the path names no number of a material, or one without a band.
    """
    table, _, rest = path.partition(".")
    key, _, name = rest.partition(".")
    if table != "material" or not name:
        raise NoBandError(f'kind = "band" at {path}', PATH)
    written = own.get(key)
    if isinstance(written, Mapping) and "file" in written:
        raise NoBandError(f"a band of {key}, whose numbers stand in a file", f"a sample of material.{key}.rank")
    try:
        numbers = stated_numbers(key, written if isinstance(written, Mapping) else None)
    except (MaterialError, UnknownMaterialError) as error:
        raise NoBandError(str(error), "a material with sound numbers") from None
    banded = {number.path: number for number in numbers if number.low is not None and number.high is not None}
    if name not in banded:
        raise NoBandError(f"no band of {name!r} of {key}", f"one of {', '.join(banded) or 'nothing'}")
    number = banded[name]
    assert isinstance(number.value, float)
    assert number.low is not None
    assert number.high is not None
    if not number.low < number.high:
        raise NoBandError(f"a band from {number.low:g} to {number.high:g}", "a band of some width")
    return number.low, number.value, number.high
