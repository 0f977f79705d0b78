"""Every spelling of a quantity, in both systems, against a conversion worked out by hand."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stemwall.cases.inputs import quantities as q
from stemwall.cases.inputs.display_units import perms
from stemwall.cases.inputs.spellings import POINTS

BTU, POUND, FOOT, GALLON = 1055.05585262, 0.45359237, 0.3048, 3.785411784

SPELLINGS = [
    # feet, inches, mils
    ('8"', q.LENGTH, 0.2032),
    ("8″", q.LENGTH, 0.2032),
    ("5'", q.LENGTH, 1.524),
    ("2'-6\"", q.LENGTH, 0.762),
    ("2' 6\"", q.LENGTH, 0.762),
    ("2'6\"", q.LENGTH, 0.762),
    ("2′-6″", q.LENGTH, 0.762),
    ("2'-6 1/2\"", q.LENGTH, 0.7747),
    ("2'-6-1/2\"", q.LENGTH, 0.7747),
    ('3 1/2"', q.LENGTH, 0.0889),
    ('1/2"', q.LENGTH, 0.0127),
    ("2 ft-6 in", q.LENGTH, 0.762),
    ("2 feet 6 inches", q.LENGTH, 0.762),
    ("-2'-6\"", q.LENGTH, -0.762),
    ("-2 ft 6 in", q.LENGTH, -0.762),
    ("1 yd", q.LENGTH, 0.9144),
    ("10 mil", q.LENGTH, 254e-6),
    ("6 mils", q.LENGTH, 152.4e-6),
    ("1000 mil", q.RAINFALL, 25.4),
    # temperatures and differences
    ("30 F", q.TEMPERATURE, -10 / 9),
    ("30°F", q.TEMPERATURE, -10 / 9),
    ("30 deg F", q.TEMPERATURE, -10 / 9),
    ("21 C", q.TEMPERATURE, 21.0),
    ("21 °C", q.TEMPERATURE, 21.0),
    ("300 K", q.TEMPERATURE, 26.85),
    ("9 F", q.DIFFERENCE, 5.0),
    # vapour: 1.9663e-10 kg/(m s Pa) of still air at 20 degC, 57.45e-12 kg/(m2 s Pa) of a perm
    ("0.1 perms", q.SD, 34.2268),
    ("0.1 US perm", q.SD, 34.2268),
    ("10 rep", q.SD, 34.2268),
    ("57.45 ng/(Pa s m2)", q.SD, 3.42268),
    ("57.45 ng/(s·m²·Pa)", q.SD, 3.42268),
    ("57.45 ng/s/m^2/Pa", q.SD, 3.42268),
    ("10 GPa s m2/kg", q.SD, 1.96633),
    ("10 GPa·s·m²/kg", q.SD, 1.96633),
    # heat
    ("R-10 ci", q.RESISTANCE, 1.761),
    ("R10", q.RESISTANCE, 1.761),
    ("RSI-1.76", q.RESISTANCE, 1.76),
    ("RSI 1.76", q.RESISTANCE, 1.76),
    ("1.76 m2 K/W", q.RESISTANCE, 1.76),
    ("10 h ft2 F/Btu", q.RESISTANCE, 36000 * FOOT**2 / (1.8 * BTU)),
    ("10 h·ft²·°F/Btu", q.RESISTANCE, 36000 * FOOT**2 / (1.8 * BTU)),
    ("100 Btu/h/ft", q.POWER, 100 * BTU / 3600 / FOOT),
    ("100 BTU/(hr ft)", q.POWER, 100 * BTU / 3600 / FOOT),
    ("3 ft2/day", q.DIFFUSIVITY, 3 * FOOT**2),
    # air
    ("0.3 1/hour", q.AIR_CHANGE, 0.3),
    ("0.3 1/h", q.AIR_CHANGE, 0.3),
    ("0.3 /h", q.AIR_CHANGE, 0.3),
    ("0.3 ACH", q.AIR_CHANGE, 0.3),
    ("0.3 per hour", q.AIR_CHANGE, 0.3),
    ("0.02 cfm/ft2", q.FLOW_PER_AREA, 0.02 * FOOT / 60),
    ("1 cfm/ft^2", q.FLOW_PER_AREA, FOOT / 60),
    ("0.1 L/(s m2)", q.FLOW_PER_AREA, 1e-4),
    ("1 cfm/ft", q.AIR_FLOW, FOOT**2 / 60),
    ("1:150", q.VENT_RATIO, 1 / 150),
    ("1 : 300", q.VENT_RATIO, 1 / 300),
    ("1/150", q.VENT_RATIO, 1 / 150),
    ("80 percent", q.HUMIDITY, 0.8),
    # water
    ("2 gal/ft", q.AMOUNT, 2 * GALLON / FOOT),
    ("2 gallons/ft", q.AMOUNT, 2 * GALLON / FOOT),
    ("2 lb/ft", q.AMOUNT, 2 * POUND / FOOT),
    ("2 gal/day/ft", q.WATER_FLOW, 2 * GALLON / FOOT),
    ("3 L/m/day", q.WATER_FLOW, 3.0),
    ("0.01 gal/ft2/day", q.WATER_RATE, 0.01 * GALLON / FOOT**2),
    ("2 pints/day/m2", q.WATER_RATE, 2 * GALLON / 8),
    ("0.1 in/day", q.WATER_RATE, 2.54),
    ("40 in/year", q.RAINFALL, 1016.0),
    ("900 mm/a", q.RAINFALL, 900.0),
    # suctions
    ("2 pF", q.SUCTION, 9806.65),
    ("pF 3", q.SUCTION, 98066.5),
    ("10 ftH2O", q.SUCTION, 10 * 30.48 * 98.0665),
    ("10 psi", q.SUCTION, 68947.57),
    ("0.33 bar", q.SUCTION, 33000.0),
    ("1 ft of water", q.SUCTION, 30.48 * 98.0665),
    # directions
    ("south", q.ANGLE, 180.0),
    ("SW", q.ANGLE, 225.0),
    ("south-west", q.ANGLE, 225.0),
    ("North East", q.ANGLE, 45.0),
    ("nnw", q.ANGLE, 337.5),
]


@pytest.mark.parametrize(("text", "kind", "expected"), SPELLINGS, ids=[text for text, *_ in SPELLINGS])
def test_reads(text: str, kind: q.Kind, expected: float) -> None:
    assert q.read(text, kind) == pytest.approx(expected, rel=5e-6)


@pytest.mark.parametrize(
    ("text", "kind", "part"),
    [
        ("1 perm-inch", q.SD, "that of a thickness, which is not stated"),
        ("60 grain/lb", q.HUMIDITY, "a humidity ratio"),
        ("60 grains/lb", q.HUMIDITY, "a humidity ratio"),
        ("5 pF", q.LENGTH, "'pF' measures something else"),
        ("30 F", q.LENGTH, "measures something else"),
        ("2 gal", q.AMOUNT, "measures something else"),
        ("southish", q.ANGLE, "an angle"),
        ("south", q.ELEVATION, "an elevation"),
        ("1:0", q.VENT_RATIO, "a vent area"),
        ("1:150", q.LENGTH, "a length"),
        ("8 in -2 in", q.LENGTH, "a length"),
        ("0 perms", q.SD, "above zero"),
        ("0 ng/(Pa s m2)", q.SD, "above zero"),
        ("0.3 cfm", q.AIR_CHANGE, "measures something else"),
        ("R-10", q.LENGTH, "an R-value is a thermal resistance"),
        ("99 pF", q.SUCTION, "a suction"),
    ],
)
def test_refuses(text: str, kind: q.Kind, part: str) -> None:
    with pytest.raises(ValueError, match=re.escape(part)):
        q.read(text, kind)


@given(st.floats(1e-4, 100.0))
def test_a_permeance_comes_back(value: float) -> None:
    """One value of still air both ways: 0.1 perm is 0.1 perm, not 0.0992."""
    assert perms(q.read(f"{value!r} perm", q.SD)) == pytest.approx(value, rel=1e-12)
    assert perms(q.read(f"{1 / value!r} rep", q.SD)) == pytest.approx(value, rel=1e-12)
    assert perms(q.read(f"{57.45 * value!r} ng/(Pa s m2)", q.SD)) == pytest.approx(value, rel=1e-12)


@given(st.integers(0, 40), st.integers(0, 11), st.sampled_from(["", "1/2", "3/4", "5/16"]), st.booleans())
def test_feet_and_inches_in_every_dress(feet: int, inches: int, fraction: str, below: bool) -> None:
    top, _, bottom = fraction.partition("/")
    expected = (feet + (inches + (int(top) / int(bottom) if fraction else 0.0)) / 12) * FOOT * (-1 if below else 1)
    sign, part = "-" if below else "", f" {fraction}" if fraction else ""
    for text in (f"{feet}'-{inches}{part}\"", f"{feet}' {inches}{part}\"", f"{feet} ft {inches}{part} in",
                 f"{feet}′-{inches}{part}″"):  # fmt: skip
        assert q.read(sign + text, q.LENGTH) == pytest.approx(expected, abs=1e-12)


def test_the_compass_goes_round() -> None:
    assert [q.read(point, q.ANGLE) for point in POINTS] == [22.5 * n for n in range(16)]
