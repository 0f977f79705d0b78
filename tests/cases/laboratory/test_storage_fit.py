"""Storage through points: exact data come back, scatter is shared, contents rise whatever the points do."""

import numpy as np

from stemwall.cases.laboratory.resampling import Mean, Scatter
from stemwall.cases.laboratory.storage_fit import Points, fit_storage
from stemwall.materials.catalogue import catalogue, material_from_mapping
from stemwall.materials.water import suction_from_humidity

RNG = np.random.default_rng(5)
SUCTION = np.concatenate([[1e4, 1e5, 1e6], suction_from_humidity(np.array([0.95, 0.8, 0.5, 0.3]))])
TRUE = catalogue().material("brick_1700").storage.curve


def saturation(value: float) -> Mean:
    """A saturation of three specimens that spreads by 2 %."""
    return Mean(value, (value,) * 3, Scatter(0.02, 0, np.zeros(0)), value * (1.0 + 0.02 * RNG.standard_normal(40)))


def test_exact_points_come_back() -> None:
    water = np.asarray(TRUE.content(SUCTION))
    fit = fit_storage(Points(SUCTION, water, ("retention",) * 7), saturation(TRUE.saturation), 0.05, RNG)
    np.testing.assert_allclose(fit.curve().content(SUCTION), water, rtol=1e-6)
    assert fit.scatter.freedom == 0
    assert fit.scatter.deviation == 0.05


def test_replicates_are_averaged() -> None:
    water = np.asarray(TRUE.content(SUCTION))
    twice = np.concatenate([0.9 * water, 1.1 * water])
    points = Points(np.tile(SUCTION, 2), twice, ("retention",) * 14)
    fit = fit_storage(points, saturation(TRUE.saturation), 0.05, RNG)
    np.testing.assert_allclose(fit.curve().content(SUCTION), water, rtol=2e-3)
    assert 0.1 < fit.scatter.deviation < 0.2


def test_contents_rise_with_wetness_whatever_the_points_do() -> None:
    water = np.asarray(TRUE.content(SUCTION)) * np.array([1.0, 1.3, 0.7, 1.0, 2.0, 1.0, 1.0])
    water[0] = 1.02 * TRUE.saturation
    fit = fit_storage(Points(SUCTION, water, ("retention",) * 7), saturation(TRUE.saturation), 0.05, RNG)
    for number in (None, *range(40)):
        written = fit.written(number)
        table = {"base": "brick_1700", "porosity": 0.5, "storage": written}
        content = material_from_mapping("drawn", table).water_content(np.geomspace(1.0, 9e8, 300))
        assert np.all(np.diff(content) < 0.0)


def test_a_guide_fills_the_gap_to_saturation_with_its_shape() -> None:
    dry = SUCTION[SUCTION > 5e6]
    water = np.asarray(TRUE.content(dry))
    points = Points(dry, water, ("adsorption",) * dry.size)
    at = np.geomspace(1e4, 5e6, 20)
    plain, guided = (
        fit_storage(points, saturation(TRUE.saturation), 0.05, RNG, guide).curve().content(at) for guide in (None, TRUE)
    )
    true = TRUE.content(at)
    assert np.abs(guided / true - 1.0).mean() < 0.1
    assert np.abs(plain / true - 1.0).mean() > 2.0 * np.abs(guided / true - 1.0).mean()
