"""Limits, usual ranges and the slips of unit that explain a number outside them."""

import math
from typing import Any

import pytest
from pydantic import BaseModel

from stemwall.materials import schema, texture
from stemwall.materials.catalogue import build_catalogue, entries, material_doubts, material_from_mapping
from stemwall.materials.definition import parse
from stemwall.materials.doubts import doubts, marks
from stemwall.materials.kinds import CONDUCTIVITY, DENSITY
from stemwall.materials.problems import MaterialError
from stemwall.materials.ranges import Kind, bare, measured
from tests.field_walk import models_of, numeric

LENGTH = Kind("a length", "m", '0.2 or "8 in"', 0.0, 3.0, (0.09, 0.6), open_low=True)
CONCRETE: dict[str, Any] = {
    "name": "mine", "hatch": "concrete", "density": 2200.0, "specific_heat": 850.0, "porosity": 0.17,
    "storage": {"kind": "power-hyperbola", "water_50": 40.0, "water_80": 60.0, "saturation": 150.0},
    "vapour": {"kind": "constant", "mu": 80.0},
    "liquid": {"kind": "absorption", "coefficient": 0.015},
    "conductivity": {"kind": "linear", "dry": 1.6},
}  # fmt: skip


@pytest.mark.parametrize(
    ("given", "hint"),
    [
        (8, 'did you mean "8 in"?'),
        (200, 'did you mean "200 mm"?'),
        ("20 m", 'did you mean "20 in" or "20 cm"?'),
        (10, 'did you mean "10 in" or "10 cm"?'),
        (0, ""),
        (math.inf, ""),
        (1e9, ""),
        ("2 ft 6 in", ""),
        (True, ""),
    ],
)
def test_a_slip_is_named_if_one_or_two_units_explain_it(given: object, hint: str) -> None:
    assert LENGTH.slip(given) == hint


def test_units_of_materials_are_named_with_the_value_to_write() -> None:
    assert DENSITY.slip(0.11) == "did you mean 110, which is 0.11 g/cm3?"
    assert CONDUCTIVITY.slip(39) == "did you mean 0.039, which is 39 mW/(m K)?"


@pytest.mark.parametrize(
    ("given", "number", "unit"),
    [(3, 3.0, ""), ("8 in", 8.0, "in"), ("R-10", 10.0, "R"), ("75%", 75.0, "%"), ("-2.5e1 degF", -25.0, "degF")],
)
def test_number_and_unit_as_written(given: object, number: float, unit: str) -> None:
    assert measured(given) == (number, unit)


@pytest.mark.parametrize("given", ["x", "", "1 2 3", None, [1], "9" * 200, False])
def test_what_is_no_single_number_has_none(given: object) -> None:
    assert math.isnan(measured(given)[0])


@pytest.mark.parametrize("value", [math.nan, math.inf, 10**400, -1, 0, 3.1, True, "1", None, [1]])
def test_bare_numbers_outside_are_refused(value: object) -> None:
    with pytest.raises(ValueError, match="a length above 0 and up to 3 m"):
        bare(value, LENGTH)


def test_there_is_no_negative_zero() -> None:
    kind = Kind("a number", "", "", -1.0, 1.0, (-1.0, 1.0))
    assert math.copysign(1.0, bare(-0.0, kind)) == 1.0


def test_counts_are_whole() -> None:
    kind = Kind("a count", "", "", 1, 5, (1, 5), whole=True)
    assert bare(3, kind) == 3
    with pytest.raises(ValueError, match="a whole number"):
        bare(2.5, kind)
    with pytest.raises(ValueError, match="a finite number"):
        bare(math.inf, kind)


REFUSED = [
    ("density", 0.11, "density.value", "110, which is 0.11 g/cm3"),
    ("density", -5, "density.value", "between 0.5 and 25,000"),
    ("specific_heat", 0.85, "specific_heat.value", "850, which is 0.85 kJ/(kg K)"),
    ("specific_heat", 0.2, "specific_heat.value", "which is 0.2 Btu/(lb degF)"),
    ("porosity", 17, "porosity.value", "0.17, which is 17 %"),
    ("conductivity", {"kind": "linear", "dry": math.inf}, "conductivity.linear.dry", "a finite number"),
    ("conductivity", {"kind": "linear", "dry": 1600}, "conductivity.linear.dry", "1.6, which is 1600 mW/(m K)"),
]


@pytest.mark.parametrize(("key", "value", "place", "hint"), REFUSED)
def test_slips_of_materials_that_are_refused(key: str, value: object, place: str, hint: str) -> None:
    with pytest.raises(MaterialError) as caught:
        material_from_mapping("mine", {**CONCRETE, key: value})
    found = {problem.place: problem.expected for problem in caught.value.problems}
    assert hint in found[f"mine.{place}"]


ASKED = [
    ("conductivity", {"kind": "linear", "dry": 39}, "conductivity.dry", "0.039, which is 39 mW/(m K)"),
    ("conductivity", {"kind": "linear", "dry": 11.2}, "conductivity.dry", "Btu in/(h ft2 degF)"),
    ("liquid", {"kind": "absorption", "coefficient": 0.9}, "liquid.coefficient", "0.015, which is 0.9 kg/(m2 h^0.5)"),
    ("liquid", {"kind": "absorption", "coefficient": 3.0}, "liquid.coefficient", "which is 3 kg/(m2 h^0.5)"),
    ("storage", {"kind": "power-hyperbola", "water_50": 0.04, "water_80": 0.06, "saturation": 0.15},
     "storage.saturation", "150, which is 0.15 m3/m3"),
    ("specific_heat", 3500, "specific_heat", "usually 400 to 3,000"),
]  # fmt: skip


@pytest.mark.parametrize(("key", "value", "place", "hint"), ASKED)
def test_slips_of_materials_that_are_asked_about(key: str, value: object, place: str, hint: str) -> None:
    asked = material_doubts("mine", {**CONCRETE, key: value})
    found = [one.expected for one in asked if one.place in (f"mine.{place}", f"mine.{place}.value")]
    assert any(hint in expected for expected in found), asked


def test_nothing_is_asked_about_plain_concrete() -> None:
    assert material_doubts("mine", CONCRETE) == []
    assert material_doubts("mine", {"base": "xps_25", "density": 32}) == []


def test_the_catalogue_is_usual() -> None:
    """Air layers, of which nobody writes his own, have the density of air."""
    for key, entry in entries().items():
        spec: Any = schema.MembraneSpec if "sd" in entry else schema.MaterialSpec
        found = [place for place, _, _ in doubts(parse(spec, key, entry), entry)]
        assert found == ([("density", "value")] if key.startswith("air_") else []), key
    assert build_catalogue({}, {}).sources == {}


MODELS = models_of(schema.MaterialSpec | schema.MembraneSpec | texture.TextureSpec)


@pytest.mark.parametrize("model", MODELS)
def test_every_number_has_limits_and_a_usual_range(model: type[BaseModel]) -> None:
    for name, field in model.model_fields.items():
        if numeric(field.annotation):
            kinds = [mark.kind for mark in marks(field)]
            assert kinds, f"{model.__name__}.{name} takes any number"
            for kind in kinds:
                low, high = kind.usual
                assert kind.low <= low < high <= kind.high, f"{model.__name__}.{name}"
                assert math.isfinite(kind.low)
                assert math.isfinite(kind.high)


def test_the_walk_sees_the_models() -> None:
    assert {"DensityValue", "LinearSpec", "SorptionSpec", "ModeSpec", "TextureSpec"} <= {m.__name__ for m in MODELS}
