"""Contract of every catalogue entry."""

import tomllib
from importlib.resources import files
from typing import Any

import numpy as np
import pytest
from scipy.integrate import trapezoid

from stemwall.materials import (
    Material,
    MembraneProduct,
    UnknownMaterialError,
    catalogue,
    check,
    material_from_mapping,
    tabulate,
)
from stemwall.materials.catalogue import build_catalogue
from stemwall.materials.entries import SOURCE_FILE, OnDemand, entries, membrane_keys
from stemwall.materials.liquid import as_vapour
from stemwall.materials.problems import MaterialError
from stemwall.materials.stated_numbers import stated_numbers
from stemwall.materials.uptake import uptake_coefficient
from stemwall.materials.water import (
    AIR_PERMEABILITY,
    fluidity_ratio,
    saturation_pressure,
    still_air_permeability,
    suction_from_humidity,
)

CATALOGUE = catalogue()
SUCTION = np.concatenate([-np.geomspace(2e5, 1.0, 30), [0.0], np.geomspace(0.1, 9.9e8, 600)])
MATERIALS = pytest.mark.parametrize("material", CATALOGUE.materials.values(), ids=list(CATALOGUE.materials))
CONFIDENCE = {"read", "read-secondary", "computed", "memory", "estimate"}


def test_size_of_the_catalogue() -> None:
    solids = [key for key, material in CATALOGUE.materials.items() if material.hatch != "air"]
    assert len(solids) + len(CATALOGUE.membranes) >= 145
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


@pytest.mark.parametrize("key", list(CATALOGUE))
def test_every_number_has_a_source_a_confidence_and_a_place_within_its_band(key: str) -> None:
    entry = CATALOGUE[key]
    numbers = stated_numbers(key)
    assert isinstance(entry, MembraneProduct) or entry.hatch == "air" or any(one.low is not None for one in numbers)
    for number in numbers:
        assert number.provenance.source in CATALOGUE.sources, number.path
        assert number.provenance.confidence in CONFIDENCE, number.path
        if number.low is not None and number.high is not None:
            assert isinstance(number.value, float)
            assert number.low <= number.value <= number.high, number.path


def test_every_solid_and_membrane_states_a_band_or_has_the_usual_spread_of_its_kind() -> None:
    stated = sum(not one.usual and one.low is not None for key in CATALOGUE for one in stated_numbers(key))
    assert stated > 600
    loam = {one.path: one for one in stated_numbers("soil_loam_class")}["liquid.saturated"]
    assert (loam.low, loam.high) == (
        pytest.approx(2.889e-7, rel=1e-3),
        pytest.approx(2.889e-6 + 1.82 / 360000, rel=1e-2),
    )


def test_no_two_entries_have_the_same_functions() -> None:
    tables = tabulate(list(CATALOGUE.materials.values()))
    seen: dict[bytes, str] = {}
    for number, key in enumerate(CATALOGUE.materials):
        same = b"".join(
            np.ascontiguousarray(table[number]).tobytes()
            for table in (tables.water, tables.flux_potential, tables.vapour, tables.conductivity)
        )
        assert same not in seen, (key, seen.get(same))
        seen[same] = key


def test_every_source_states_how_it_was_obtained() -> None:
    assert all(source.title and source.obtained for source in CATALOGUE.sources.values())


def plain(entry: Any) -> Any:
    """A written entry with every number as a bare number."""
    if isinstance(entry, dict):
        return {
            name: part["value"] if isinstance(part, dict) and "value" in part and name not in WHOLE else plain(part)
            for name, part in entry.items()
        }
    return entry


#: properties that are tables whatever they hold
WHOLE = {"conductivity", "storage", "liquid", "vapour", "density", "specific_heat", "porosity"}
WRITTEN = {
    key: plain(entry)
    for path in files("stemwall.materials").iterdir()
    if path.name.endswith(".toml") and path.name != "sources.toml"
    for key, entry in tomllib.loads(path.read_text(encoding="utf-8")).items()
}
ABSORBING = [key for key, entry in WRITTEN.items() if "coefficient" in entry.get("liquid", {})]
CUPS = [key for key, entry in WRITTEN.items() if entry.get("vapour", {}).get("kind") == "cups"]
CEMENT_BOUND = [key for key in ABSORBING if "long_term" in WRITTEN[key]["liquid"]]


def short_term(key: str) -> Material:
    """The material with the law of an uptake test."""
    return material_from_mapping(key, {"base": key, "liquid": {"service": "short-term"}})


@pytest.mark.parametrize("key", ABSORBING)
def test_uptake_returns_what_was_measured(key: str) -> None:
    """As the test is done: from 50 % RH at 23 degC, vapour flowing."""
    material = short_term(key)
    computed = uptake_coefficient(material.liquid, material.vapour, material.storage)
    assert computed == pytest.approx(WRITTEN[key]["liquid"]["coefficient"], rel=5e-3)


def cups_of(key: str) -> list[tuple[float, float, float, float]]:
    """Humidities, temperature and mu of every cup."""
    vapour = WRITTEN[key]["vapour"]
    if "mu_dry" in vapour:
        return [(0.0, 0.50, 23.0, vapour["mu_dry"]), (0.50, 0.93, 23.0, vapour["mu_wet"])]
    return [(cup["from"], cup["to"], cup.get("temperature", 23.0), cup["mu"]) for cup in vapour["cups"]]


@pytest.mark.parametrize("service", ["as shipped", "short-term"])
@pytest.mark.parametrize("key", CUPS)
def test_every_cup_returns_what_was_measured(key: str, service: str) -> None:
    """Vapour and liquid through each cup at its own humidities and temperature, whichever law liquid follows."""
    if service == "short-term" and key not in CEMENT_BOUND:
        return
    material = short_term(key) if service == "short-term" else CATALOGUE.material(key)
    for low, high, temperature, mu in cups_of(key):
        phi = np.linspace(max(low, 1e-6), high, 40001)
        suction = suction_from_humidity(phi, temperature)
        kelvin = temperature + 273.15
        liquid = -trapezoid(material.liquid_conductivity(suction), suction) * float(fluidity_ratio(temperature))
        liquid /= float(saturation_pressure(temperature)) * (high - low)
        vapour = float(trapezoid(material.vapour_permeability(suction), phi)) / (high - low)
        vapour *= (kelvin / 293.15) ** material.vapour_exponent
        assert float(still_air_permeability(temperature)) / (vapour + liquid) == pytest.approx(mu, rel=0.03)


#: resistance factors of NBI 573.430 by ranges of relative humidity
BANDS = {
    "concrete_wc050": [(0.35, 0.70, 131, 195), (0.70, 0.80, 82, 131), (0.80, 0.90, 27, 82), (0.90, 0.95, 9, 27)],
    "lumber_spf": [(0.35, 0.70, 29, 130), (0.70, 0.80, 13, 51), (0.80, 0.90, 7, 26)],
    "plywood_13": [(0.35, 0.70, 29, 130), (0.70, 0.80, 14, 51), (0.80, 0.90, 8, 25)],
    "particleboard_16": [(0.90, 0.95, 15.5, 16.5)],
}


@pytest.mark.parametrize("key", list(BANDS))
def test_transport_of_both_lies_in_the_bands_that_were_read(key: str) -> None:
    material = CATALOGUE.material(key)
    for low, high, tightest, loosest in ((a, b, d, c) for a, b, c, d in BANDS[key]):
        phi = np.linspace(low, high, 4001)
        delta = material.vapour_permeability(suction_from_humidity(phi))
        delta = delta + as_vapour(material.liquid, material.storage, phi, 20.0)
        assert loosest * 0.995 <= AIR_PERMEABILITY * (high - low) / trapezoid(delta, phi) <= tightest * 1.005


def test_cement_bound_materials_have_their_long_term_law_in_use_and_clay_and_wood_have_one_law() -> None:
    assert {key.split("_")[0] for key in CEMENT_BOUND} <= {"concrete", "cmu", "mortar"}
    for key in ABSORBING:
        assert CATALOGUE.material(key).liquid_service == ("long-term" if key in CEMENT_BOUND else None)
        assert short_term(key).liquid_service == ("short-term" if key in CEMENT_BOUND else None)


@pytest.mark.parametrize("key", CEMENT_BOUND)
def test_long_term_law_conducts_less_than_that_of_the_first_hours(key: str) -> None:
    """At saturation, and in the flow from saturation to any dryness."""
    p_c = np.concatenate([[0.0], np.geomspace(10.0, 1e8, 400)])
    k = [material.liquid_conductivity(p_c) for material in (CATALOGUE.material(key), short_term(key))]
    assert k[0][0] < 0.02 * k[1][0]
    assert trapezoid(k[0], p_c) < 0.05 * trapezoid(k[1], p_c)


@MATERIALS
def test_wet_conductivity_lies_between_its_parts_in_series_and_in_parallel(material: Material) -> None:
    """At every water content. Conductivity of the solids [W/(m K)]: quartz in the ground, 3.5 elsewhere, 1 % steel
    adding 0.5; the least is that of polymers, in grains of foam glass 0.05. Cells may hold 0.010 W/(m K) of blowing
    agent; in insulation radiation adds to air, which dry material with water in place of air in parallel covers.
    Air layers stand for convection and are left out."""
    if material.hatch == "air":
        return
    water = np.linspace(0.0, material.storage.saturation, 400)
    value = material.thermal_conductivity(water)
    pores, psi = material.porosity_or_saturation, water / 1000.0
    solids = {"soil": 7.7, "sand": 7.7, "gravel": 7.7}.get(material.hatch, 3.5) + 0.5 * (material.id == "concrete_rc1")
    least = 0.05 if material.id == "cellular_glass_gravel" else 0.2
    air = np.maximum(pores - psi, 0.0)
    parallel = (1.0 - pores) * solids + 0.6 * psi + 0.025 * air
    if material.hatch == "insulation":
        parallel = np.maximum(parallel, value[0] + 0.575 * psi)
    assert np.all(value <= parallel * (1.0 + 1e-9))
    assert np.all(value >= (1.0 - 1e-9) / ((1.0 - pores) / least + psi / 0.6 + air / 0.010))


@pytest.mark.parametrize("key", [key for key in WRITTEN if "storage" in WRITTEN[key]])
def test_no_value_lies_outside_its_own_band(key: str) -> None:
    """A band is that of the dry conductivity, of the dry cup of a pair or of every cup, of the coefficient."""
    entry = WRITTEN[key]
    numbers = {
        "conductivity": [entry["conductivity"].get("dry", entry["conductivity"].get("value", [None])[0])],
        "vapour": [cup["mu"] for cup in entry["vapour"].get("cups", [])]
        or [entry["vapour"].get("mu_dry", entry["vapour"].get("mu"))],
        "liquid": [entry.get("liquid", {}).get("coefficient")],
    }
    for name, values in numbers.items():
        band = entry.get(name, {})
        for value in values:
            if value is not None and "low" in band and "high" in band:
                assert band["low"] <= value <= band["high"], name


@pytest.mark.parametrize(
    ("key", "humidity", "expected"),
    [
        ("concrete_wc050", 0.8, 59.0),
        ("lumber_spf", 0.5, 39.9),
        ("osb_11", 0.8, 84.5),
        ("plywood_13", 0.9, 94.4),
    ],
)
def test_sorption_of_selected_entries(key: str, humidity: float, expected: float) -> None:
    water = CATALOGUE.material(key).water_content(suction_from_humidity(humidity))
    assert float(water) == pytest.approx(expected, rel=2e-3)


def test_membranes_of_the_trade() -> None:
    sheet = CATALOGUE.membrane("pe_015")
    assert (sheet.sd_dry, sheet.liquid, sheet.mould_class) == (57.0, "break", "R")
    assert CATALOGUE.membrane("retarder_variable").sd_wet < 0.1 * CATALOGUE.membrane("retarder_variable").sd_dry


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
