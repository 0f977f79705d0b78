"""Mould index and germination lines against closed forms and published formulas.

The index tables are values of the published equations at constant conditions
(closed form) and in weekly cycles (explicit hourly steps), computed
independently of this package; they test the equations as written down, not
the equations against the papers.
"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stemwall.solver.assessment import mould, mould_isolines

WEEK = 168
YEAR = 52 * WEEK
CONSTANT_WEEKS = np.array([4, 12, 26, 52]) * WEEK - 1
CYCLE_WEEKS = np.array([1, 2, 12, 26, 52]) * WEEK - 1
DECLINE_HOURS = np.array([6, 24, 168, 672, 4368, 8760]) - 1

# (degC, RH): index after 4, 12, 26 and 52 weeks per class, most sensitive first
CONSTANT = {
    (20, 0.90): "0.9516 3.9184 3.9950 3.9950 0.5492 1.4255 2.5529 3.0412 "
    "0.0662 0.1974 0.4215 0.8065 0.0272 0.0808 0.1717 0.3285",
    (20, 0.95): "3.0331 5.1230 5.1230 5.1230 1.1110 2.6578 4.2061 4.2352 "
    "0.1449 0.4343 0.9373 2.0691 0.0646 0.1928 0.4127 0.7951",
    (20, 0.97): "4.3601 5.5039 5.5039 5.5039 1.3728 3.4291 4.6746 4.6762 "
    "0.1939 0.5813 1.3431 2.7446 0.0873 0.2605 0.5577 1.0282",
    (20, 1.00): "5.9753 6 6 6 1.9214 4.8874 5.3 5.3 0.2963 0.8885 2.2248 3.4807 0.1343 0.4009 0.8552 1.2649",
    (10, 0.90): "0.5939 2.5343 3.7108 3.7112 0.3425 1.0154 1.7784 2.6568 "
    "0.0414 0.1236 0.2659 0.5217 0.0170 0.0507 0.1087 0.2122",
    (10, 0.95): "1.5194 4.9983 5.0104 5.0104 0.7280 1.7891 3.3988 4.1084 "
    "0.0905 0.2713 0.5869 1.2233 0.0404 0.1207 0.2599 0.5115",
    (10, 0.97): "2.3655 5.4433 5.4434 5.4434 0.9726 2.2790 4.2774 4.6043 "
    "0.1210 0.3630 0.7856 1.7511 0.0545 0.1631 0.3513 0.6908",
    (
        10,
        1.00,
    ): "4.1341 6 6 6 1.3242 3.3039 5.2858 5.3 0.1850 0.5548 1.2703 2.7971 0.0839 0.2510 0.5403 1.0232",
    (5, 0.97): "1.1008 4.9026 5.1236 5.1236 0.6071 1.5478 2.9449 4.2176 "
    "0.0755 0.2265 0.4905 0.9785 0.0339 0.1016 0.2193 0.4346",
}
CYCLES = {
    ("VS", 1.0): (0.6741, 0.5701, 5.3503, 5.3945, 5.3945),
    ("VS", 0.1): (0.6741, 0.6637, 5.4805, 5.4930, 5.4930),
    ("S", 1.0): (0.3896, 0.2856, 1.3728, 2.4615, 4.1438),
    ("S", 0.5): (0.3896, 0.3376, 1.6192, 3.0627, 4.5264),
    ("S", 0.25): (0.3896, 0.3636, 1.7543, 3.3689, 4.6098),
    ("S", 0.1): (0.3896, 0.3792, 1.8378, 3.5511, 4.6500),
    ("MR", 0.25): (0.0485, 0.0225, 0.1349, 0.2921, 0.5833),
    ("MR", 0.1): (0.0485, 0.0381, 0.2284, 0.4946, 0.9870),
    ("MR", 0.5): (0.0485, 0, 0, 0, 0),
    ("R", 0.1): (0.0218, 0.0114, 0.0685, 0.1479, 0.2933),
}
DECLINES = {
    1.0: (2.992, 2.992, 2.896, 2.560, 0.096, 0),
    0.5: (2.996, 2.996, 2.948, 2.780, 1.548, 0.084),
    0.25: (2.998, 2.998, 2.974, 2.890, 2.274, 1.542),
    0.1: (2.9992, 2.9992, 2.9896, 2.956, 2.7096, 2.4168),
}
conditions = st.lists(st.tuples(st.floats(-20.0, 60.0), st.floats(0.3, 1.0)), min_size=2, max_size=60).map(
    lambda rows: np.array(rows).T
)


def steady(temperature, humidity, hours=YEAR):
    return np.full(hours, float(temperature)), np.full(hours, humidity)


def test_critical_humidity():
    expected = [1.0, 0.970273, 0.880163, 0.820300, 0.800388, 0.8004]
    np.testing.assert_allclose(mould.critical_humidity([0, 1, 5, 10, 15, 20]), expected, atol=1e-6)
    np.testing.assert_allclose(mould.critical_humidity([-5, 10, 22, 40], 0.85), [1.0, 0.85, 0.85, 0.85])
    assert mould.critical_humidity(22.0) == 0.80  # the polynomial gives 0.8015 there


def test_weeks_to_start_and_to_visible_growth():
    humidity = [0.90, 0.95, 0.97, 1.00]
    np.testing.assert_allclose(mould.weeks_to_start(20.0, humidity), [4.20195, 1.98182, 1.48352, 0.97145], atol=1e-5)
    np.testing.assert_allclose(mould.weeks_to_visible(20.0, humidity), [7.73364, 3.88780, 2.98272, 2.02464], atol=1e-5)


@pytest.mark.parametrize(("condition", "table"), CONSTANT.items())
def test_growth_at_constant_conditions(condition, table):
    expected = np.array(table.split(), dtype=float).reshape(4, 4)
    for name, row in zip(mould.CLASSES, expected, strict=True):
        index = mould.mould_index(*steady(*condition), name)
        np.testing.assert_allclose(index[CONSTANT_WEEKS], row, atol=1e-4, err_msg=name)


@pytest.mark.parametrize(
    ("condition", "expected"),
    [
        ((20, 0.90), (0.9516, 3.9787, 3.9950, 3.9950)),
        ((20, 0.97), (4.3271, 5.5039, 5.5039, 5.5039)),
        ((10, 0.97), (2.2460, 5.4429, 5.4434, 5.4434)),
    ],
)
def test_growth_in_the_original_model(condition, expected):
    index = mould.mould_index_1999(*steady(*condition))
    np.testing.assert_allclose(index[CONSTANT_WEEKS], expected, atol=1e-4)


@pytest.mark.parametrize(
    ("name", "to_1", "to_3"), [("VS", 1.4835, 2.9681), ("S", 2.5669, 10.2889), ("MR", 20.6788, 67.3748)]
)
def test_weeks_to_index_1_and_3(name, to_1, to_3):
    index = mould.mould_index(*steady(20, 0.97, 70 * WEEK), name)
    hours = np.arange(1, len(index) + 1)
    np.testing.assert_allclose(np.interp([1.0, 3.0], index, hours) / WEEK, [to_1, to_3], atol=1e-3)


@pytest.mark.parametrize(("case", "expected"), CYCLES.items())
def test_weekly_cycles_of_wet_and_dry(case, expected):
    name, decline = case
    humidity = np.where(np.arange(YEAR) // WEEK % 2 == 0, 0.97, 0.60)
    index = mould.mould_index(np.full(YEAR, 20.0), humidity, name, decline=decline)
    np.testing.assert_allclose(index[CYCLE_WEEKS], expected, atol=2e-3)


@pytest.mark.parametrize(("decline", "expected"), DECLINES.items())
def test_decline_in_the_dry(decline, expected):
    index = mould.mould_index(*steady(20, 0.5, 8760), "VS", decline=decline, initial=3.0)
    np.testing.assert_allclose(index[DECLINE_HOURS], expected, atol=1e-4)


def test_result_does_not_depend_on_the_step():
    humidity = np.repeat([0.97, 0.5, 0.99, 0.7], 240)
    hourly = mould.mould_index(np.full(960, 18.0), humidity, "S", decline=1.0)
    six_hourly = mould.mould_index(np.full(160, 18.0), humidity[::6], "S", decline=1.0, step=6.0)
    np.testing.assert_allclose(six_hourly, hourly[5::6], atol=1e-12)


@pytest.mark.parametrize(("temperature", "grows"), [(0.0, False), (0.5, True), (50.0, True), (50.5, False)])
def test_growth_between_0_and_50_degrees(temperature, grows):
    assert (mould.mould_index(*steady(temperature, 1.0, 24), "VS")[-1] > 0.0) == grows


def test_places_are_independent():
    humidity = np.random.default_rng(1).uniform(0.6, 1.0, (300, 3))
    temperature = np.full((300, 3), [5.0, 15.0, 25.0])
    together = mould.mould_index(temperature, humidity, "S")
    alone = [mould.mould_index(temperature[:, k], humidity[:, k], "S") for k in range(3)]
    np.testing.assert_array_equal(together, np.transpose(alone))


@given(conditions, st.sampled_from(list(mould.CLASSES)), st.sampled_from([1.0, 24.0, 168.0]))
def test_index_stays_between_zero_and_its_ceiling(rows, name, step):
    index = mould.mould_index(*rows, name, step=step)
    assert index.min() >= 0.0
    assert index.max() <= mould.CLASSES[name].highest + 1e-12


@given(conditions, st.sampled_from(list(mould.CLASSES)), st.floats(0.0, 3.0))
def test_no_growth_at_or_below_the_critical_humidity(rows, name, initial):
    temperature, humidity = rows
    critical = mould.critical_humidity(temperature, mould.CLASSES[name].humidity_min)
    index = mould.mould_index(temperature, np.minimum(humidity, critical), name, initial=initial)
    assert (np.diff(index, prepend=initial) <= 0.0).all()


@given(st.floats(-5.0, 50.0), st.floats(0.5, 1.0), st.floats(0.5, 1.0), st.sampled_from(list(mould.CLASSES)))
def test_wetter_is_never_better(temperature, one, other, name):
    wetter, drier = (
        mould.mould_index(np.full(30, temperature), np.full(30, humidity), name, initial=0.5, step=WEEK)
        for humidity in (max(one, other), min(one, other))
    )
    assert (wetter >= drier - 1e-12).all()


def test_classes_in_order_of_sensitivity():
    final = [mould.mould_index(*steady(15, 0.95), name)[-1] for name in mould.CLASSES]
    assert final == sorted(final, reverse=True)
    assert mould.more_sensitive("R").name == "medium_resistant"
    assert mould.more_sensitive("very_sensitive") is None


def test_unknown_class_lists_the_known_ones():
    with pytest.raises(ValueError, match="very_sensitive, sensitive"):
        mould.mould_index([20.0], [0.9], "granite")


@pytest.mark.parametrize(
    ("temperature", "humidity", "message"),
    [(20.0, 85.0, "fraction"), (293.15, 0.9, "kelvin"), (20.0, np.nan, "finite")],
)
def test_wrong_units_and_gaps_are_refused(temperature, humidity, message):
    with pytest.raises(ValueError, match=message):
        mould.mould_index([temperature], [humidity], "S")


def test_lowest_isoline():
    # doi 10.1177/01436244221137846, values of the fit
    expected = [0.9870, 0.8801, 0.8160, 0.7779, 0.7562, 0.7450, 0.7416]
    np.testing.assert_allclose(mould_isolines.isoline([0, 5, 10, 15, 20, 25, 30]), expected, atol=1e-4)
    lines = [float(mould_isolines.isoline(20.0, rate)) for rate in mould_isolines.ISOLINES]
    assert lines == sorted(lines)
    with pytest.raises(ValueError, match="no isoline"):
        mould_isolines.isoline(20.0, 7.0)


def test_annex14_limit():
    # values of the formula recalled from IEA Annex 14, 1990
    expected = [0.8933, 0.8430, 0.8093, 0.7920, 0.7913]
    np.testing.assert_allclose(mould_isolines.annex14_limit([5, 10, 15, 20, 25]), expected, atol=1e-4)


def test_dose_rate():
    t = [20, 20, 20, 20, -5, 10]
    rh = [0.90, 0.75, 0.66, 0.50, 0.95, 0.90]
    expected = [1.0, (75 / 90) ** 15.53, -2.7 + 1.1 * 66 / 30, -0.5, -0.5, 0.5**0.74]
    np.testing.assert_allclose(mould_isolines.dose_rate(t, rh), expected, rtol=1e-12)


def test_dose_adds_up_and_stops_at_zero():
    humidity = [0.9] * 3 + [0.5] * 10 + [0.9] * 2
    expected = [1, 2, 3, 2.5, 2, 1.5, 1, 0.5, 0, 0, 0, 0, 0, 1, 2]
    np.testing.assert_allclose(mould_isolines.dose(np.full(15, 20.0), humidity), expected, atol=1e-12)


def test_daily_means():
    means = mould_isolines.daily_means(np.repeat([1.0, 3.0], 12).repeat(2)[:60], 1.0)
    np.testing.assert_allclose(means, [1.0, 3.0])
    with pytest.raises(ValueError, match="whole number"):
        mould_isolines.daily_means(np.zeros(10), 5.0)
