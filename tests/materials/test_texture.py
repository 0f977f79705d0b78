"""Soils by their texture: water held, conductivity near saturation, spread, and bad input."""

import numpy as np
import pytest

from stemwall.materials import MaterialError, catalogue, material_from_mapping
from stemwall.materials.retention import VanGenuchten
from stemwall.materials.texture import TextureSpec, soil_of_texture
from stemwall.materials.water import GRAVITY, WATER_DENSITY

FIELD_CAPACITY = np.array([33e3])
#: sand, silt, clay [%] of the entries of soil.toml, and water at 33 kPa of Saxton & Rawls 2006, Soil Sci. Soc. Am. J.
#: 70, Table 3 (2.5 % organic matter; from memory, to be checked)
CLASSES = {
    "sand": (92, 5, 3, 0.10), "loamy_sand": (82, 12, 6, 0.12), "sandy_loam": (65, 25, 10, 0.18),
    "loam": (40, 40, 20, 0.28), "silt": (8, 87, 5, 0.30), "silt_loam": (20, 65, 15, 0.31),
    "sandy_clay_loam": (60, 12, 28, 0.27), "clay_loam": (33, 34, 33, 0.36), "silty_clay_loam": (10, 56, 34, 0.38),
    "sandy_clay": (52, 6, 42, 0.36), "silty_clay": (7, 46, 47, 0.41), "clay": (20, 20, 60, 0.42),
}  # fmt: skip
CLAYEY = ("sandy_clay_loam", "clay_loam", "silty_clay_loam", "sandy_clay", "silty_clay", "clay")


@pytest.mark.parametrize("name", CLASSES)
def test_field_capacity_of_the_classes(name: str) -> None:
    held = float(catalogue().material(f"soil_{name}").water_content(FIELD_CAPACITY)[0]) / WATER_DENSITY
    assert held == pytest.approx(CLASSES[name][3], abs=0.10 if name in CLAYEY else 0.05)


@pytest.mark.parametrize("name", CLASSES)
def test_the_catalogue_holds_what_the_pedotransfer_function_says(name: str) -> None:
    sand, silt, clay, _ = CLASSES[name]
    entry = catalogue().material(f"soil_{name}")
    made = material_from_mapping("site", {"texture": dict(sand=sand, silt=silt, clay=clay, density=entry.density)})
    suction = np.geomspace(1.0, 1e8, 40)
    np.testing.assert_allclose(made.water_content(suction), entry.water_content(suction), rtol=1e-3)
    np.testing.assert_allclose(made.liquid_conductivity(suction), entry.liquid_conductivity(suction), rtol=1e-2)


def test_class_means_stand_beside() -> None:
    """Carsel & Parrish 1988, loam: theta_r 0.078, theta_s 0.43, alpha 3.6 1/m, n 1.56."""
    means = VanGenuchten.soil(0.078, 0.43, 3.6, 1.56).content(FIELD_CAPACITY)
    np.testing.assert_allclose(catalogue().material("soil_loam_class").water_content(FIELD_CAPACITY), means, rtol=1e-6)


def test_the_spread_goes_from_dry_to_wet() -> None:
    """The ranked members bracket the mean, and rise with their rank."""

    def held(rank: float | None) -> float:
        spec = TextureSpec(sand=40, silt=40, clay=20, density=1500, rank=rank)
        store = soil_of_texture(spec)["storage"]
        curve = VanGenuchten.soil(*(store[name] for name in ("theta_r", "theta_s", "alpha", "n")))
        return float(curve.content(FIELD_CAPACITY)[0]) / WATER_DENSITY

    ranked = [held(rank) for rank in (0.0, 0.25, 0.5, 0.75, 1.0)]
    assert np.all(np.diff(ranked) > 0.0)
    assert ranked[1] < held(None) < ranked[3]
    assert 0.02 < ranked[-1] - ranked[0] < 0.15


def test_own_numbers_replace_those_of_the_texture() -> None:
    soil = material_from_mapping("site", {
        "name": "Site", "texture": {"sand": 65, "silt": 25, "clay": 10, "density": 1600}, "specific_heat": 800.0,
        "liquid": {"kind": "mualem", "saturated": 5e-6},
    })  # fmt: skip
    assert (soil.name, soil.density, soil.specific_heat) == ("Site", 1600.0, 800.0)
    assert soil.liquid_conductivity(np.zeros(1))[0] == pytest.approx(5e-6 / GRAVITY)


@pytest.mark.parametrize(
    ("texture", "place", "expected"),
    [
        ({"sand": 40, "silt": 40, "clay": 30}, "site.texture", "add up to 100 %"),
        ({"sand": 0.4, "silt": 0.4, "clay": 0.2}, "site.texture", "not 1 %"),
        ({"sand": 40, "silt": 40, "clay": 20, "density": 1.5}, "site.texture.density", "between 500 and 2,000"),
        ({"sand": 40, "silt": 60}, "site.texture.clay", "required"),
        ("loam", "site.texture", "dictionary"),
    ],
)
def test_bad_textures_are_refused_with_their_place(texture: object, place: str, expected: str) -> None:
    with pytest.raises(MaterialError) as caught:
        material_from_mapping("site", {"texture": texture})
    [problem] = caught.value.problems
    assert problem.place == place
    assert expected in problem.expected


def test_texture_and_base_together_are_refused() -> None:
    with pytest.raises(MaterialError, match="one of the two"):
        material_from_mapping("site", {"base": "soil_loam", "texture": {"sand": 40, "silt": 40, "clay": 20}})
