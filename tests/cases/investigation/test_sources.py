"""Sources of a case: which it has, and the runs without them."""

from __future__ import annotations

from stemwall.cases.investigation.sources import KEYS, SOURCES, case_with, in_list, present
from stemwall.cases.setup.build import Setup, build
from stemwall.cases.surroundings.without import Without
from tests.cases.samples import WALL, changed, read, setup

DRY = '[weather]\nrain = "none"\n'


def keys(one: Setup) -> set[str]:
    return {source.key for source in present(one)[0]}


def test_every_switch_is_a_source_that_says_how() -> None:
    assert tuple(Without.model_fields) == KEYS
    assert all(source.how for source in SOURCES)


def test_a_case_has_what_acts_in_it() -> None:
    wet = changed("years = 0.01", "years = 0.1")
    assert keys(setup(wet)) == {"rain", "ground_vapour", "summer_air", "indoor_air", "construction_water"}
    assert "rain" not in keys(setup(DRY + wet))
    assert "indoor_air" not in keys(setup(changed('"50 %"', '"1 %"')))
    assert "construction_water" not in keys(setup(changed("[run]", '[run]\ninitial_humidity = "55 %"')))
    leak = '[[leak]]\nname = "pipe"\nx = 0.1\ny = 0.5\namount = "6 kg/m"\n'
    assert "leaks" in keys(setup(WALL + leak))
    off = build(read(f"[without]\nrain = true\n{WALL}").base)
    found, absent = present(off)
    assert "rain" not in {source.key for source in (*found, *absent)}


def test_water_rises_out_of_a_footing_unless_a_membrane_breaks_it() -> None:
    footing = changed('name = "soil"', 'name = "footing"', changed("soil_loam", "concrete_wc050"))
    assert "footing" not in keys(setup(footing))  # the gasket of this wall covers it
    assert "footing" in keys(setup(changed("x = [0, 0.2]\ny = 0", "x = [0, 0.1]\ny = 0", footing)))


def test_runs_without_sources_are_variants_that_say_so() -> None:
    one = setup(WALL)
    sources = [source for source in SOURCES if source.key in ("rain", "indoor_air")]
    assert case_with(one.case, sources, frozenset({0, 1})) is one.case
    case = case_with(one.case, sources, frozenset())
    assert case.name == "without rain and indoor air"
    assert case.change == {"without.rain": True, "without.indoor_air": True}
    assert case.without.names == ("rain", "indoor_air")
    variant = read(WALL + '[[variant]]\nname = "dry"\nchange = { "indoor.room.humidity" = "40 %" }\n').variant("dry")
    away = case_with(variant, sources, frozenset({1}))
    assert away.name == "dry, without rain"
    assert away.change == {"indoor.room.humidity": "40 %", "without.rain": True}


def test_lists_in_sentences() -> None:
    assert [in_list(list("abc")[:n]) for n in range(4)] == ["", "a", "a and b", "a, b and c"]
