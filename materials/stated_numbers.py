"""Every number that a material states: value, unit, source, confidence, and the band in which it may lie.

A band that the source or the catalogue states comes first. Where none is stated, numbers of some kinds have the usual
spread of their kind (`USUAL`), which is an estimate and says so. The numbers of a curve go up and down together: its
`scale`, 1 as stated, has the band.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from stemwall.materials import kinds
from stemwall.materials.catalogue import written_whole
from stemwall.materials.definition import parse, properties
from stemwall.materials.doubts import marks
from stemwall.materials.entries import membrane_keys
from stemwall.materials.material import Provenance
from stemwall.materials.ranges import Kind, spoken
from stemwall.materials.schema import MaterialSpec, MembraneSpec, PairSpec
from stemwall.materials.schema_common import BANDS, Sourced
from stemwall.materials.schema_moisture import CupsSpec

#: lower and upper end of the usual spread as factors on the value, by kind of number: estimates, no source
USUAL: Mapping[Kind, tuple[float, float]] = {
    kinds.DENSITY: (0.95, 1.05),
    kinds.SPECIFIC_HEAT: (0.9, 1.1),
    kinds.CONDUCTIVITY: (0.9, 1.1),
    kinds.CONVERSION: (0.5, 1.5),
    kinds.SLOPE: (0.5, 1.5),
    kinds.MU: (0.7, 1.4),
    kinds.SD: (0.7, 1.4),
    kinds.RESISTANCE: (0.8, 1.2),
    kinds.ABSORPTION: (0.5, 2.0),
    kinds.SATURATED: (0.1, 10.0),
    kinds.PER_HEAD: (0.7, 1.4),
    kinds.FILLING: (0.5, 2.0),
    kinds.CHI: (0.8, 1.25),
}
#: the same of scales of curves
CURVE = (0.75, 1.25)
ESTIMATE = "usual spread of this kind of number: estimate, no source"


@dataclass(frozen=True)
class StatedNumber:
    """One number of a material.

    Parameters
    ----------
    path : str
        Dotted path below the material, such as ``conductivity.dry``.
    value : float or tuple of float
        As stated; the points of a curve together.
    unit : str
        Unit of the value, "" for a ratio.
    provenance : Provenance
        Source, confidence and note; ``low`` and ``high`` are those that are stated.
    low, high : float or None
        Band: as stated, or the usual spread of this kind of number; None if it has none.
    usual : bool
        Whether the band is that usual spread.
    """

    path: str
    value: float | tuple[float, ...]
    unit: str
    provenance: Provenance
    low: float | None = None
    high: float | None = None
    usual: bool = False


def stated_numbers(key: str, own: Mapping[str, Any] | None = None) -> list[StatedNumber]:
    """Every number of a catalogue entry, or of a material written inline.

    Parameters
    ----------
    key : str
        Identifier, the first part of the place in error messages.
    own : mapping or None
        Its table where it is written inline.

    Raises
    ------
    MaterialError
        If the table is no material or membrane, with every problem.
    UnknownMaterialError
        If the catalogue has no such entry.
    """
    whole = written_whole(key, own or {})
    sheet = "sd" in whole or (own is None and key in membrane_keys())
    spec = parse(MembraneSpec, key, whole) if sheet else parse(MaterialSpec, key, whole)
    return [number for place, part in properties(spec) for number in _of_property(place, part)]


def band_of(key: str, path: str, own: Mapping[str, Any] | None = None) -> StatedNumber | None:
    """The number at a path, or None if there is none; arguments and errors as above."""
    return next((number for number in stated_numbers(key, own) if number.path == path), None)


def _of_property(place: str, part: Sourced) -> Iterator[StatedNumber]:
    for name, field in type(part).model_fields.items():
        scale = name == "scale" and _has_curve(part)
        if name in BANDS or name == "numbers" or not (name in part.model_fields_set or scale):
            continue
        value = getattr(part, name)
        if isinstance(value, bool) or not isinstance(value, int | float | list):
            continue
        kind = next((mark.kind for mark in marks(field)), None)
        if kind is None:
            continue
        origin = part.provenance_of(name)
        unit = spoken(kind.unit) or kind.name.partition(" in ")[2]
        path = place if name == "value" and not isinstance(value, list) else f"{place}.{name}"
        if isinstance(value, list):
            yield StatedNumber(path, tuple(map(float, value)), unit, origin)
        else:
            yield StatedNumber(path, float(value), "" if scale else unit, origin, *_band(part, name, value, kind))


def _has_curve(part: Sourced) -> bool:
    """Whether several numbers go together, so that one scale moves them all."""
    return "scale" in type(part).model_fields


def _band(part: Sourced, name: str, value: float, kind: Kind) -> tuple[float | None, float | None, bool]:
    """Band of one number: its own, for a scale that of the curve's principal number, else the usual spread."""
    origin = part.provenance_of(name)
    if origin.low is not None or origin.high is not None:
        return origin.low, origin.high, False
    if name == "scale":
        stated, base = _principal(part)
        if base and stated.low is not None and stated.high is not None:
            return _rounded(stated.low / base), _rounded(stated.high / base), False
        return _rounded(value * CURVE[0]), _rounded(value * CURVE[1]), True
    if kind not in USUAL or value == 0.0:
        return None, None, False
    low, high = (_rounded(factor * value) for factor in USUAL[kind])
    return max(low, kind.low), min(high, kind.high), True


def _rounded(number: float) -> float:
    return float(f"{number:.4g}")


def _principal(part: Sourced) -> tuple[Provenance, float]:
    """Band and value of the number that stands for a pair of cups; nothing of other curves."""
    if isinstance(part, PairSpec):
        return part.provenance_of("dry"), part.dry
    if isinstance(part, CupsSpec) and part.mu_dry is not None:
        return part.provenance_of("mu_dry"), part.mu_dry
    return Provenance(), 0.0
