"""Contract of every catalogue entry."""

import tomllib
from importlib.resources import files

import numpy as np
import pytest
from scipy.integrate import trapezoid

from stemwall.materials import Material, UnknownMaterialError, catalogue, check, tabulate
from stemwall.materials.catalogue import build_catalogue
from stemwall.materials.entries import SOURCE_FILE, OnDemand, entries, membrane_keys
from stemwall.materials.liquid import absorption_coefficient
from stemwall.materials.problems import MaterialError
from stemwall.materials.water import AIR_PERMEABILITY, suction_from_humidity

CATALOGUE = catalogue()
SUCTION = np.concatenate([-np.geomspace(2e5, 1.0, 30), [0.0], np.geomspace(0.1, 9.9e8, 600)])
MATERIALS = pytest.mark.parametrize("material", CATALOGUE.materials.values(), ids=list(CATALOGUE.materials))
CONFIDENCE = {"read", "read-secondary", "computed", "memory", "estimate"}


def test_size_of_the_catalogue() -> None:
    assert len(CATALOGUE.materials) >= 60
    assert len(CATALOGUE.membranes) >= 20
    assert len(CATALOGUE) == len(set(CATALOGUE))


@MATERIALS
def test_water_rises_with_wetness_and_stays_positive(material: Material) -> None:
    water = material.water_content(SUCTION)
    assert np.all(np.diff(water) < 0.0)
    assert np.all(water > 0.0)


@MATERIALS
def test_transport_is_physical(material: Material) -> None:
    k = material.liquid_conductivity(SUCTION)
    assert np.all(k >= 0.0)
    assert np.all(np.diff(k) <= 1e-9 * k[:-1])
    delta = material.vapour_permeability(SUCTION)
    limit = np.inf if material.hatch == "air" else AIR_PERMEABILITY * (1.0 + 1e-12)
    assert np.all((delta >= 0.0) & (delta <= limit))
    value = material.thermal_conductivity(material.water_content(SUCTION))
    assert np.all((value > 0.015) & (value < 3.6))
    assert np.all(material.temperature.factor([-40.0, 0.0, 60.0]) > 0.5)


@MATERIALS
def test_no_rule_rejects_it(material: Material) -> None:
    assert [finding for finding in check(material) if finding.severity == "E"] == []


@pytest.mark.parametrize("key", list(CATALOGUE))
def test_every_property_has_a_known_source_and_a_confidence(key: str) -> None:
    entry = CATALOGUE[key]
    required = {"density", "specific_heat", "storage", "vapour", "conductivity"}
    assert (required if isinstance(entry, Material) else {"sd"}) <= set(entry.provenance)
    for origin in entry.provenance.values():
        assert origin.source in CATALOGUE.sources
        assert origin.confidence in CONFIDENCE
        if origin.low is not None and origin.high is not None:
            assert origin.low < origin.high


def test_every_source_states_how_it_was_obtained() -> None:
    assert all(source.title and source.obtained for source in CATALOGUE.sources.values())


WRITTEN = {
    key: entry
    for path in files("stemwall.materials").iterdir()
    if path.name.endswith(".toml") and path.name != "sources.toml"
    for key, entry in tomllib.loads(path.read_text(encoding="utf-8")).items()
}
ABSORBING = [key for key, entry in WRITTEN.items() if "coefficient" in entry.get("liquid", {})]


@pytest.mark.parametrize("key", ABSORBING)
def test_uptake_and_both_cups_return_what_was_measured(key: str) -> None:
    material, entry = CATALOGUE.material(key), WRITTEN[key]
    computed = absorption_coefficient(material.liquid, material.storage)
    assert computed == pytest.approx(entry["liquid"]["coefficient"], rel=2e-3)
    if entry["vapour"]["kind"] != "cups":
        return
    for low, high, mu in [(1e-6, 0.50, entry["vapour"]["mu_dry"]), (0.50, 0.95, entry["vapour"]["mu_wet"])]:
        phi = np.linspace(low, high, 40001)
        suction = suction_from_humidity(phi)
        liquid = -trapezoid(material.liquid_conductivity(suction), suction) / (2336.951 * (high - low))
        vapour = trapezoid(material.vapour_permeability(suction), phi) / (high - low)
        assert vapour + liquid == pytest.approx(AIR_PERMEABILITY / mu, rel=0.02)


@pytest.mark.parametrize(
    ("key", "humidity", "expected"),
    [
        ("concrete_wc050", 0.8, 59.0),
        ("spf_across", 0.5, 39.9),
        ("osb_na_11", 0.8, 84.5),
        ("plywood_13", 0.9, 94.4),
    ],
)
def test_sorption_of_selected_entries(key: str, humidity: float, expected: float) -> None:
    water = CATALOGUE.material(key).water_content(suction_from_humidity(humidity))
    assert float(water) == pytest.approx(expected, rel=2e-3)


def test_membranes_of_the_trade() -> None:
    sheet = CATALOGUE.membrane("pe_015")
    assert (sheet.sd_dry, sheet.liquid, sheet.mould_class) == (57.0, "break", "R")
    assert CATALOGUE.membrane("smart_pa").sd_wet < 0.1 * CATALOGUE.membrane("smart_pa").sd_dry


def test_unknown_identifier_names_the_nearest() -> None:
    with pytest.raises(UnknownMaterialError, match="concrete_wc050") as caught:
        CATALOGUE["concrete_wc05"]
    assert "concrete_wc050" in caught.value.nearest
    with pytest.raises(UnknownMaterialError, match="no material 'pe_015'"):
        CATALOGUE.material("pe_015")


def test_errors_of_all_entries_come_together() -> None:
    good = {
        "name": "x",
        "sd": {"dry": 1.0, "wet": 2.0, "source": "A", "confidence": "read"},
        "liquid": "break",
    }
    other = {"name": "y", "sd": {"dry": 1.0, "wet": 1.0, "source": "B"}, "liquid": "break"}
    with pytest.raises(MaterialError) as caught:
        build_catalogue({"first": good, "second": other}, {})
    assert [problem.place for problem in caught.value.problems] == [
        "first.sd", "second.sd.source", "second.sd.confidence",
    ]  # fmt: skip


def test_whole_catalogue_tabulates() -> None:
    tables = tabulate(list(CATALOGUE.materials.values()))
    assert np.all(tables.water[..., 1] < 0.0)
    assert np.all(tables.flux_potential[..., 1] <= 0.0)
    for array in (
        tables.water,
        tables.flux_potential,
        tables.vapour,
        tables.conductivity,
        tables.temperature_factor,
    ):
        assert np.all(np.isfinite(array))
        assert array.flags.c_contiguous


def test_entries_on_demand_are_those_of_the_whole_files() -> None:
    whole: dict[str, dict[str, object]] = {}
    for path in files("stemwall.materials").iterdir():
        if path.name.endswith(".toml") and path.name != SOURCE_FILE:
            whole |= tomllib.loads(path.read_text(encoding="utf-8"))
    assert dict(entries()) == whole
    assert membrane_keys() == {key for key, entry in whole.items() if "sd" in entry}


def test_whole_catalogue_builds_at_once_as_on_demand() -> None:
    built = build_catalogue(entries(), CATALOGUE.sources)
    assert dict(built) == dict(CATALOGUE)


def test_a_value_is_made_when_it_is_asked_for_and_kept() -> None:
    asked: list[str] = []

    def make(key: str) -> str:
        asked.append(key)
        return key.upper()

    lazy = OnDemand(["a", "b"], make)
    assert "a" in lazy
    assert list(lazy) == ["a", "b"]
    assert asked == []
    assert (lazy["a"], lazy["a"]) == ("A", "A")
    assert asked == ["a"]
    with pytest.raises(KeyError):
        lazy["c"]
