"""Units of laboratories in both systems, in the spellings that are met."""

import pytest

from stemwall.cases.laboratory import kinds
from stemwall.cases.laboratory.units import Moisture, letters, read, read_moisture
from stemwall.materials.ranges import Kind


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("6 kg/(m2 h^0.5)", kinds.ABSORPTION, 0.1),
        ("6 kg/m²√h", kinds.ABSORPTION, 0.1),
        ("6 kg/(m2·sqrt(h))", kinds.ABSORPTION, 0.1),
        ("0.6 g/(cm2 h^(1/2))", kinds.ABSORPTION, 0.1),
        ("4.2 Btu in/(h ft2 degF)", kinds.CONDUCTIVITY, 0.60576),
        ("4.2 BTU·in/(hr·ft²·°F)", kinds.CONDUCTIVITY, 0.60576),
        ("0.35 Btu/(h ft degF)", kinds.CONDUCTIVITY, 0.60576),
        ("35 mW/(m K)", kinds.CONDUCTIVITY, 0.035),
        ("14 perm-inch", kinds.PERMEABILITY, 2.04292e-11),
        ("0.9 perm", kinds.PERMEANCE, 5.1705e-11),
        ("52 ng/(Pa s m2)", kinds.PERMEANCE, 5.2e-11),
        ("8.64 cm/day", kinds.SATURATED, 1e-6),
        ("8.64 cm/d", kinds.SATURATED, 1e-6),
        ("3 pF", kinds.SUCTION, 98100.0),
        ("1000 cm", kinds.SUCTION, 98100.0),
        ("1 bar", kinds.SUCTION, 1e5),
        ("112 lb/ft3", kinds.DENSITY, 1794.07),
        ("0.2 Btu/(lb degF)", kinds.HEAT, 837.36),
        ("8.64 g/(m2 d)", kinds.VAPOUR_FLOW, 1e-7),
        ("1.5 h", kinds.TIME, 5400.0),
        ("3/4 in", kinds.THICKNESS, 0.01905),
        ("73.4 degF", kinds.WARMTH, 23.0),
        ("33 %", kinds.HUMIDITY, 0.33),
        ("1 perm", kinds.SD, 3.42268),
        (0.1, kinds.ABSORPTION, 0.1),
    ],
)
def test_a_number_with_its_unit(text: object, kind: Kind, value: float) -> None:
    assert read(text, kind) == pytest.approx(value, rel=1e-5)


@pytest.mark.parametrize(
    ("text", "found", "content"),
    [
        (12, Moisture(12.0, "kg/m3"), 12.0),
        ("0.7 mass-%", Moisture(0.007, "kg/kg"), 12.6),
        ("1.2 vol-%", Moisture(0.012, "m3/m3"), 12.0),
        ("1 lb/ft3", Moisture(16.018463, "kg/m3"), 16.018463),
        ("7 g/kg", Moisture(0.007, "kg/kg"), 12.6),
    ],
)
def test_a_moisture_content_says_what_it_refers_to(text: object, found: Moisture, content: float) -> None:
    read = read_moisture(text, kinds.MOISTURE)
    assert read.basis == found.basis
    assert read.number == pytest.approx(found.number)
    assert read.content(1800.0) == pytest.approx(content)


@pytest.mark.parametrize(
    ("text", "kind", "hint"),
    [
        ("6 kg/(m2 fortnight)", kinds.ABSORPTION, "unknown here"),
        ("6", kinds.ABSORPTION, "needs its unit"),
        (True, kinds.DENSITY, "a dry density"),
        ("99 pF", kinds.SUCTION, "finite"),
        (15, kinds.POROSITY, "15 %"),
        ("3 perm-inch", kinds.PERMEANCE, "unknown here"),
    ],
)
def test_what_cannot_be_read_says_what_was_expected(text: object, kind: Kind, hint: str) -> None:
    with pytest.raises(ValueError, match=hint):
        read(text, kind)


@pytest.mark.parametrize("text", ["3 %", "3 lumps", True, -1, "120 vol-%", None])
def test_a_moisture_content_that_is_none(text: object) -> None:
    with pytest.raises(ValueError, match="a moisture content"):
        read_moisture(text, kinds.MOISTURE)


def test_letters_tell_units_apart() -> None:
    assert letters("kg/(m² h^0.5)") == letters("kg/m2/√h") == "kg/m2h0.5"
    assert letters("kg/(m2 s)") != letters("kg/(m2 s^0.5)")
