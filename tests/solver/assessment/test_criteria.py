"""Criteria, verdicts and accounts on series whose outcome is known beforehand."""

import re
from dataclasses import replace
from datetime import datetime

import numpy as np
import pytest
import xarray as xr

from stemwall.solver.assessment.criteria import CRITERIA, KINDS, Verdict, applicable
from stemwall.solver.assessment.criterion_series import MEASURES, moisture_rise
from stemwall.solver.assessment.heatflow import yearly_heat
from stemwall.solver.assessment.indicators import indicator_table, indicators
from stemwall.solver.assessment.verdicts import ProbeSeries, assess, assess_probe, series_of, to_table

YEAR = 8760
START = np.datetime64("2001-01-01T00:00", "m")


def clock(hours):
    return START + np.arange(hours) * np.timedelta64(60, "m")


def place(kind="wood", hours=YEAR, temperature=20.0, humidity=0.5, water=43.0, **more):
    series = (np.broadcast_to(np.float64(x), hours) for x in (temperature, humidity, water))
    made = ProbeSeries("sill", kind, clock(hours), *series, **({"density": 430.0} | more))
    # a piece that is all alike, unless a test says otherwise
    return made if "piece_water_content" in more else replace(made, piece_water_content=made.water_content)


def verdict_on(series, key, period="whole run", variant="", **options):
    found = [
        v
        for v in assess_probe(series, **options)
        if (v.criterion.id, v.period) == (key, period) and variant in ("", v.variant)
    ]
    assert len(found) == 1
    return found[0]


def test_every_criterion_is_complete():
    assert set(MEASURES) | {"mould-index"} == set(CRITERIA)
    for criterion in CRITERIA.values():
        assert re.fullmatch(r"[a-z]+(-[a-z0-9]+)+", criterion.id), "plain words"
        assert criterion.source
        assert criterion.scope
        assert set(criterion.kinds) <= set(KINDS)
        assert "safe" not in f"{criterion.name} {criterion.scope} {criterion.source}".lower().split()


def test_unknown_kind_lists_the_known_ones():
    with pytest.raises(ValueError, match="wood, interface"):
        applicable("granite")


@pytest.mark.parametrize(
    ("key", "value", "margin", "holds"),
    [
        ("surface-humidity-30-day", 0.8, 0.0, False),
        ("surface-humidity-30-day", 0.79, 0.01, True),
        ("slab-before-flooring", 0.75, 0.0, True),
        ("frost-bearing-soil", -1.0, -1.0, False),
        ("frost-bearing-soil", 0.0, 0.0, True),
        ("surface-humidity-30-day", np.nan, np.nan, None),
    ],
)
def test_margin_and_outcome_follow_the_sense(key, value, margin, holds):
    verdict = Verdict(CRITERIA[key], "sill", "whole run", value, None)
    assert verdict.margin == pytest.approx(margin, nan_ok=True)
    assert verdict.holds is holds


def test_wood_criteria_are_for_wood_only():
    wood = {"wood-moisture-piece", "wood-fibre-saturation", "decay-onset"}
    assert wood <= {c.id for c in applicable("wood")}
    for kind in set(KINDS) - {"wood"}:
        assert not wood & {c.id for c in applicable(kind, optional=True)}


def test_optional_criteria_only_on_request():
    plain, full = applicable("wood"), applicable("wood", optional=True)
    assert "surface-humidity-7-day" not in {c.id for c in plain}
    assert {c.id for c in plain} < {c.id for c in full}


def test_wood_moisture_verdict_has_value_margin_date_and_days():
    water = np.full(YEAR, 43.0)
    water[1000:1048] = 107.5
    verdict = verdict_on(place(water=water), "wood-moisture-piece")
    assert (verdict.value, verdict.margin, verdict.holds) == (25.0, -5.0, False)
    assert verdict.when == datetime(2001, 2, 11, 16)
    assert verdict.note == "2 d above 16 %, 2 d above 20 %, 0 d above 26 %"
    assert verdict_on(place(water=water), "wood-fibre-saturation").holds is True


def test_without_density_wood_moisture_is_not_judged():
    verdict = verdict_on(place(density=None), "wood-moisture-piece")
    assert verdict.holds is None
    assert "dry density" in verdict.note


def test_of_wood_the_piece_or_the_place_is_judged_and_the_other_stands_beside():
    series = place(water=129.0, piece_water_content=np.full(YEAR, 64.5))
    for key, basis in (
        ("wood-moisture-piece", "piece"),
        ("wood-fibre-saturation", "place"),
        ("wood-closing-in", "piece"),
        ("subfloor-before-flooring", "piece"),
        ("moisture-rise-solid-wood", "piece"),
    ):
        assert CRITERIA[key].basis == basis
    of_piece, at_place = verdict_on(series, "wood-moisture-piece"), verdict_on(series, "wood-fibre-saturation")
    assert (of_piece.value, of_piece.beside, of_piece.holds) == (15.0, 30.0, True)
    assert (at_place.value, at_place.beside, at_place.holds) == (30.0, 15.0, False)
    assert np.isnan(verdict_on(series, "surface-humidity-30-day").beside)


def test_without_the_mean_of_the_piece_its_limit_is_not_judged_at_the_place_instead():
    series = place(water=129.0, piece_water_content=None)
    verdict = verdict_on(series, "wood-moisture-piece")
    assert verdict.holds is None
    assert verdict.beside == 30.0
    assert "lacking the dry density and the mean of the piece" in verdict.note
    assert verdict_on(series, "wood-fibre-saturation").value == 30.0


def test_mould_is_judged_in_two_classes():
    series = place("interface", 52 * 168, humidity=0.97, mould_class="MR")
    own, stricter = (verdict_on(series, "mould-index", variant=name) for name in ("medium_resistant", "sensitive"))
    # closed form at 20 degC and 97 %: 2.7446 and 4.6762 after 52 weeks
    assert own.value == pytest.approx(2.7446, abs=1e-4)
    assert stricter.value == pytest.approx(4.6762, abs=1e-4)
    assert (own.holds, stricter.holds) == (True, False)
    assert "decline factor 0.1" in own.note
    shown = [v.variant for v in assess_probe(series) if v.criterion.id == "mould-index"]
    assert shown == ["medium_resistant", "sensitive"]  # the own class first


def test_mould_without_class_is_not_judged():
    assert verdict_on(place("interface"), "mould-index").holds is None


def test_construction_moisture_is_told_from_the_settled_year():
    humidity = np.full(3 * YEAR, 0.6)
    humidity[:2000] = 0.9
    humidity[-1000:] = 0.65
    series = place("interface", 3 * YEAR, humidity=humidity)
    whole, last = (verdict_on(series, "surface-humidity-30-day", period) for period in ("whole run", "last 12 months"))
    assert whole.value == pytest.approx(0.9)
    assert whole.holds is False
    assert "before the last 12 months" in whole.note
    assert last.value == pytest.approx(0.65)
    assert last.when >= datetime(2003, 12, 19, 7)  # 720 h into the last 1000
    assert last.holds is True


def test_one_year_has_no_settled_year():
    periods = {v.period for v in assess_probe(place(mould_class="S"))}
    assert periods == {"whole run"}
    assert "shorter than 3 years" in verdict_on(place(mould_class="VS"), "mould-index").note


@pytest.mark.parametrize(("wet_hours", "carried"), [(3000, True), (100, False)])
def test_carry_over_from_year_to_year(wet_hours, carried):
    humidity = np.tile(np.where(np.arange(YEAR) < wet_hours, 0.92, 0.5), 3)
    series = place("interface", 3 * YEAR, humidity=humidity, mould_class="S")
    verdict = verdict_on(series, "mould-index", variant="sensitive", decline=0.25)
    assert verdict.carry_over is carried


def test_thirty_day_rule_speaks_only_between_5_and_40_degrees():
    assert verdict_on(place(temperature=3.0, humidity=0.95), "surface-humidity-30-day").holds is None
    assert verdict_on(place(temperature=6.0, humidity=0.95), "surface-humidity-30-day").holds is False
    assert verdict_on(place(temperature=41.0, humidity=0.95), "surface-humidity-30-day").holds is None
    assert verdict_on(place(hours=700, humidity=0.95), "surface-humidity-30-day").holds is None


def test_companion_rules():
    humidity = np.full(YEAR, 0.7)
    humidity[500:524] = 1.0
    assert verdict_on(place(humidity=humidity), "surface-humidity-24-hour", optional=True).holds is False
    assert verdict_on(place(humidity=humidity), "surface-humidity-7-day", optional=True).value == pytest.approx(
        0.7 + 0.3 * 24 / 168
    )


def test_monthly_mean_names_the_month():
    humidity = np.full(YEAR, 0.7)
    humidity[31 * 24 : 59 * 24] = 0.85
    verdict = verdict_on(place("surface", humidity=humidity), "surface-humidity-monthly")
    assert verdict.value == pytest.approx(0.85)
    assert verdict.when == datetime(2001, 2, 28, 23)


def test_germination_line_and_annex14():
    # at 20 degC the lines are at 0.7562 and 0.7920
    series = place("surface", humidity=0.77)
    assert verdict_on(series, "mould-germination-line").value == pytest.approx(0.77 - 0.7562, abs=1e-4)
    assert "8760 h above" in verdict_on(series, "mould-germination-line").note
    assert verdict_on(series, "mould-monthly-line").value == pytest.approx(0.77 - 0.7920, abs=1e-4)


def test_frost_at_the_footing():
    temperature = 5.0 + 6.0 * np.cos(2 * np.pi * np.arange(YEAR) / YEAR)
    verdict = verdict_on(place("footing", temperature=temperature), "frost-bearing-soil")
    assert verdict.value == pytest.approx(-1.0)
    assert verdict.when == datetime(2001, 7, 2, 12)
    assert verdict.holds is False


def test_moisture_rise_looks_back_one_year():
    water = np.interp(np.arange(3 * YEAR), [0, 100, 20000, 3 * YEAR], [200.0, 43.0, 86.0, 43.0])
    series = place(hours=3 * YEAR, water=water)
    content = series.moisture
    expected = [content[k] - content[max(k - YEAR + 1, 0) : k + 1].min() for k in range(0, 3 * YEAR, 97)]
    np.testing.assert_allclose(moisture_rise(series)[::97], expected, atol=1e-12)


def test_end_of_run_moisture():
    water = np.linspace(120.0, 60.0, YEAR)
    verdict = verdict_on(place(water=water), "wood-closing-in", optional=True)
    assert verdict.value == pytest.approx(100 * 60 / 430)
    assert verdict.holds is True


@pytest.mark.parametrize(("height", "borrowed"), [(-0.5, True), (0.5, False), (None, True)])
def test_below_grade_a_criterion_is_borrowed(height, borrowed):
    series = place(height=height)
    assert verdict_on(series, "surface-humidity-30-day").borrowed is borrowed
    assert verdict_on(series, "wood-moisture-piece").borrowed is False


def dataset():
    hours, names = 2 * YEAR, ["sill", "slab edge"]
    shape = ("time", "probe")
    return xr.Dataset(
        {
            "probe_temperature": (shape, np.full((hours, 2), [20.0, 12.0])),
            "probe_relative_humidity": (shape, np.full((hours, 2), [0.6, 0.95])),
            "probe_water_content": (shape, np.full((hours, 2), [47.3, 80.0])),
            "piece_water_content": (shape, np.full((hours, 2), [43.0, np.nan])),
        },
        coords={
            "time": clock(hours).astype("datetime64[ns]"),
            "probe": names,
            "probe_kind": ("probe", ["wood", "concrete"]),
            "probe_mould_class": ("probe", ["S", ""]),
            "probe_density": ("probe", [430.0, np.nan]),
            "probe_y": ("probe", [0.2, -0.3]),
        },
    )


def test_series_of_a_dataset():
    series = series_of(dataset(), "slab edge")
    assert (series.kind, series.mould_class, series.density, series.height) == ("concrete", None, None, -0.3)
    assert series.time.dtype == "datetime64[m]"
    np.testing.assert_array_equal(series.relative_humidity, 0.95)
    assert series.piece_water_content is None
    np.testing.assert_array_equal(series_of(dataset(), "sill").last_year().piece_water_content, np.full(YEAR, 43.0))
    with pytest.raises(ValueError, match="sill, slab edge"):
        series_of(dataset(), "roof")
    with pytest.raises(ValueError, match="probe_kind"):
        series_of(dataset().drop_vars("probe_kind"), "sill")


def test_dataset_to_table():
    table = to_table(assess(dataset(), optional=True))
    assert set(table["place"]) == {"sill", "slab edge"}
    row = table[(table["id"] == "wood-moisture-piece") & (table["period"] == "last 12 months")].iloc[0]
    assert (row["value"], row["beside"]) == (pytest.approx(10.0), pytest.approx(11.0))
    assert row["margin"] == pytest.approx(10.0)
    slab = table[(table["id"] == "slab-before-flooring") & (table["period"] == "whole run")].iloc[0]
    assert slab["holds"] is False
    assert (table["source"] != "").all()


def test_a_run_that_stopped_is_not_judged():
    """Not even where a limit was passed before: the value until then is kept beside."""
    stopped = dataset().assign_attrs(completed="failed")
    for verdict, whole in zip(assess(stopped), assess(dataset()), strict=True):
        assert verdict.holds is None
        assert verdict.incomplete
        assert verdict.value == pytest.approx(whole.value, nan_ok=True)
        assert verdict.note.startswith("the run stopped before its end")
    assert not any(verdict.incomplete for verdict in assess(dataset().assign_attrs(completed="yes")))


def test_bad_series_names_the_probe():
    with pytest.raises(ValueError, match=r"'sill'.*fraction"):
        place(humidity=60.0)
    with pytest.raises(ValueError, match="one shape"):
        ProbeSeries("sill", "wood", clock(3), np.zeros(3), np.zeros(2), np.zeros(3))


def test_indicators_of_a_known_series():
    humidity = np.full(YEAR, 0.7)
    humidity[100:148], humidity[300:400] = 0.995, 0.85
    found = indicators(place(humidity=humidity, water=np.linspace(129.0, 43.0, YEAR)))
    assert found["above 80 % [h]"] == 148
    assert found["at dew point, from 99 % [h]"] == 48
    assert found["longest wet spell [h]"] == 100
    assert found["longest wet spell, from"] == datetime(2001, 1, 13, 12)
    assert found["time of wetness class [tau]"] == 2
    assert found["highest moisture content [% dry mass]"] == pytest.approx(30.0)
    assert found["above 20 % dry mass [d]"] == pytest.approx(YEAR / 48, abs=0.1)
    assert found["frost cycles at 0 degC [-]"] == 0
    drier = place(water=np.linspace(129.0, 43.0, YEAR), piece_water_content=np.linspace(107.5, 43.0, YEAR))
    of_piece = indicators(drier)
    assert of_piece["highest moisture content, mean of the piece [% dry mass]"] == pytest.approx(25.0)
    assert of_piece["above 20 % dry mass, mean of the piece [d]"] == pytest.approx(YEAR / 72, abs=0.1)
    assert of_piece["above 20 % dry mass [d]"] == pytest.approx(YEAR / 48, abs=0.1)


def test_indicator_table_has_a_row_per_probe():
    table = indicator_table(dataset(), last_year=True)
    assert table.index.tolist() == ["sill", "slab edge"]
    assert table["above 80 % [h]"].tolist() == [0.0, 8760.0]


def test_yearly_heat_by_direction():
    flow = np.column_stack([np.full(YEAR + 100, 10.0), np.tile([50.0, -20.0], (YEAR + 100) // 2)])
    table = yearly_heat(clock(YEAR + 100), flow, ["indoors", "outdoors"])
    assert table.loc[("indoors", 1), "into"] == pytest.approx(87.6)
    assert table.loc[("indoors", 2), "hours"] == 100
    assert table.loc[("outdoors", 1), "into"] == pytest.approx(0.05 * YEAR / 2)
    assert table.loc[("outdoors", 1), "out_of"] == pytest.approx(0.02 * YEAR / 2)
    assert table.loc[("outdoors", 1), "net"] == pytest.approx(0.03 * YEAR / 2)
    with pytest.raises(ValueError, match="shape"):
        yearly_heat(clock(10), np.zeros((10, 1)), ["indoors", "outdoors"])
