"""Quantities with units, against conversions worked out by hand."""

from __future__ import annotations

import math
import re

import pytest

from stemwall.cases.inputs import quantities as q
from stemwall.cases.inputs.units import COMMON


@pytest.mark.parametrize(
    ("value", "kind", "expected"),
    [
        (0.2, q.LENGTH, 0.2),
        ("8 in", q.LENGTH, 0.2032),
        ("2 ft 6 in", q.LENGTH, 0.762),
        ("5 1/2 in", q.LENGTH, 0.1397),
        ("5-1/2 in", q.LENGTH, 0.1397),
        ("1/2 in", q.LENGTH, 0.0127),
        ("-8 in", q.LENGTH, -0.2032),
        ("200 mm", q.LENGTH, 0.2),
        ("R-10", q.RESISTANCE, 1.761),
        ("R 13", q.RESISTANCE, 2.2893),
        ("10 hour*ft^2*delta_degF/Btu", q.RESISTANCE, 1.7611),
        ("1.76 m^2*K/W", q.RESISTANCE, 1.76),
        # 1.9663e-10 kg/(m s Pa) of air at 20 degC over 57.45e-12 kg/(s m2 Pa) of a perm: 3.42 m
        ("1 perm", q.SD, 3.4227),
        ("0.1 perm", q.SD, 34.227),
        ("0.2 m", q.SD, 0.2),
        ("70 degF", q.TEMPERATURE, 21.111),
        ("70 °F", q.TEMPERATURE, 21.111),
        ("18 degF", q.DIFFERENCE, 10.0),
        ("10 K", q.DIFFERENCE, 10.0),
        ("33 kPa", q.SUCTION, 33000.0),
        ("75 %", q.HUMIDITY, 0.75),
        ("75%", q.HUMIDITY, 0.75),
        ("1 week", q.DURATION, 168.0),
        ("5 min", q.STEP, 300.0),
        ("40 in", q.RAINFALL, 1016.0),
        ("90 deg", q.ANGLE, 90.0),
        ("0.5 mm^2/s", q.DIFFUSIVITY, 0.0432),
    ],
)
def test_reads(value: object, kind: q.Kind, expected: float) -> None:
    assert q.read(value, kind) == pytest.approx(expected, rel=2e-4)


KINDS = (q.LENGTH, q.RAINFALL, q.SUCTION, q.ANGLE, q.DURATION, q.STEP, q.TEMPERATURE, q.DIFFERENCE)


@pytest.mark.parametrize("kind", KINDS)
def test_common_units_are_those_of_the_registry(kind: q.Kind) -> None:
    degrees = {"degF", "degC"} if kind.unit in ("degC", "K") else set()
    for unit in {*COMMON.get(kind.unit, {}), *degrees}:
        named = f"delta_{unit}" if kind.difference else unit
        known = q.registry().Quantity(7.3, named).to(kind.unit).magnitude
        assert q.read(f"7.3 {unit}", kind) == pytest.approx(known, rel=1e-14, abs=1e-12), unit


@pytest.mark.parametrize(
    ("value", "kind", "part"),
    [
        ("8 kg", q.LENGTH, "'kg' measures something else"),
        ("8 foo", q.LENGTH, "the unit 'foo' is unknown"),
        ("8", q.LENGTH, "needs its unit"),
        ("eight inches", q.LENGTH, "a length between"),
        ("", q.LENGTH, "a length between"),
        (True, q.LENGTH, "a length between"),
        ([1], q.LENGTH, "a length between"),
        ("R-10", q.LENGTH, "an R-value is a thermal resistance"),
        (math.nan, q.LENGTH, "a finite number"),
        (math.inf, q.THICKNESS, "a finite number"),
        (0, q.THICKNESS, "above 0"),
        ("-2 in", q.THICKNESS, "above 0"),
        ("140 %", q.HUMIDITY, "relative humidity"),
        (1.4, q.HUMIDITY, "relative humidity"),
        (0, q.HUMIDITY, "above 0"),
        ("0 perm", q.SD, "above zero"),
        ("300 degC", q.TEMPERATURE, "between −90 and 90"),
        ("3 m 2 m/s", q.LENGTH, "measures something else"),
        ("20 degC 3 degC", q.TEMPERATURE, "a temperature"),
    ],
)
def test_refuses(value: object, kind: q.Kind, part: str) -> None:
    with pytest.raises(ValueError, match=re.escape(part)):
        q.read(value, kind)
