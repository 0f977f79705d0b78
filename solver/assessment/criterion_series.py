"""Measures: the series that each criterion compares with its limit.

A measure has the shape (time,) of its probe series and is nan where the
criterion has nothing to say, so that the worst of any period can be read off.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from scipy.ndimage import minimum_filter1d

from stemwall.solver.assessment.criteria import Basis, Criterion
from stemwall.solver.assessment.decay import decay
from stemwall.solver.assessment.mould_isolines import annex14_limit, isoline
from stemwall.solver.assessment.probe_series import YEAR_HOURS, ProbeSeries
from stemwall.solver.assessment.series_statistics import monthly_mean, running_mean
from stemwall.solver.model.arrays import Floats

Measure = Callable[[ProbeSeries], Floats]

DAY, WEEK, MONTH = 24.0, 168.0, 720.0


def mean_humidity(series: ProbeSeries, hours: float, coldest: float = -np.inf, warmest: float = np.inf) -> Floats:
    """Running mean RH [-] over so many hours, where the mean temperature is within the bounds [degC]."""
    window = series.samples(hours)
    temperature = running_mean(series.temperature, window)
    humidity = running_mean(series.relative_humidity, window)
    return np.where((temperature >= coldest) & (temperature <= warmest), humidity, np.nan)


def above_isoline(series: ProbeSeries) -> Floats:
    """RH above the lowest isoline [-], where it is warmer than 0 degC."""
    excess = series.relative_humidity - isoline(series.temperature)
    return np.where(series.temperature > 0.0, excess, np.nan)


def above_annex14(series: ProbeSeries) -> Floats:
    """30-day mean RH above the limit line at the 30-day mean temperature [-]."""
    temperature = running_mean(series.temperature, series.samples(MONTH))
    return mean_humidity(series, MONTH, 5.0, 25.0) - annex14_limit(temperature)


def moisture(series: ProbeSeries) -> Floats:
    """Wood moisture content [% dry mass]; nan if the dry density is not known."""
    content = series.moisture
    return np.full(len(series.time), np.nan) if content is None else content


def final_moisture(series: ProbeSeries) -> Floats:
    """Wood moisture content [% dry mass] at the last sample only."""
    content = np.full(len(series.time), np.nan)
    content[-1] = moisture(series)[-1]
    return content


def moisture_rise(series: ProbeSeries) -> Floats:
    """Rise of the moisture content [% dry mass] over its least value in the 12 months before."""
    content = moisture(series)
    window = min(series.samples(YEAR_HOURS), len(content))
    least: Floats = minimum_filter1d(content, window, mode="nearest", origin=(window - 1) // 2)
    return content - least


def measured(criterion: Criterion, series: ProbeSeries, basis: Basis) -> Floats:
    """Measure of a criterion, (time,), on a basis: the place itself or the piece of wood; nan if that is not known."""
    seen = series if basis == "place" else series.of_piece()
    return np.full(len(series.time), np.nan) if seen is None else MEASURES[criterion.id](seen)


#: Measure of each criterion by its id; the mould index, which has variants, is computed apart.
MEASURES: dict[str, Measure] = {
    "surface-humidity-30-day": lambda series: mean_humidity(series, MONTH, 5.0, 40.0),
    "surface-humidity-7-day": lambda series: mean_humidity(series, WEEK, 5.0, 40.0),
    "surface-humidity-24-hour": lambda series: mean_humidity(series, DAY, 5.0, 40.0),
    "surface-humidity-monthly": lambda series: monthly_mean(series.time, series.relative_humidity),
    "corrosion-humidity-30-day": lambda series: mean_humidity(series, MONTH),
    "corrosion-humidity-monthly": lambda series: monthly_mean(series.time, series.relative_humidity),
    "wood-moisture-piece": moisture,
    "wood-fibre-saturation": moisture,
    "wood-closing-in": final_moisture,
    "wood-closing-in-wider": final_moisture,
    "subfloor-before-flooring": moisture,
    "moisture-rise-solid-wood": moisture_rise,
    "moisture-rise-wood-board": moisture_rise,
    "crawlspace-air": lambda series: mean_humidity(series, MONTH),
    "crawlspace-air-wider": lambda series: mean_humidity(series, MONTH),
    "slab-before-flooring": lambda series: series.relative_humidity,
    "frost-bearing-soil": lambda series: series.temperature,
    "liquid-ground-contact": lambda series: mean_humidity(series, DAY),
    "mould-germination-line": above_isoline,
    "mould-monthly-line": above_annex14,
    "decay-onset": lambda series: decay(series.temperature, series.relative_humidity, step=series.step).activation,
}
