"""Indicators: counts and extremes of a place that have no limit of their own."""

from __future__ import annotations

from datetime import datetime

import numpy as np
import pandas as pd
import xarray as xr

from stemwall.solver.assessment.decay import decay
from stemwall.solver.assessment.mould_isolines import daily_means, dose, isoline
from stemwall.solver.assessment.probe_series import ProbeSeries, series_of
from stemwall.solver.assessment.series_statistics import TimeArray, hours, longest_spell, maximum, minimum
from stemwall.solver.assessment.wetness import (
    at_dew_point,
    downward_crossings,
    drying_time,
    frost_cycles,
    time_of_wetness,
    wet,
    wetness_class,
)
from stemwall.solver.assessment.wood import MOISTURE_LINES, days_above

#: ends the name of what is said of a whole piece of wood, not of the place itself
PIECE = ", mean of the piece"

Indicator = float | int | datetime | None


def indicators(series: ProbeSeries) -> dict[str, Indicator]:
    """Counts and extremes of one place, the unit in the name.

    Hours are those of the whole series; take ``series.last_year()`` for a year.
    """
    found = _extremes(series) | _wetness(series) | _frost(series)
    if series.kind == "wood":
        found |= _wood(series)
    return found


def indicator_table(dataset: xr.Dataset, *, last_year: bool = False) -> pd.DataFrame:
    """Indicators of all probes of a result dataset, one row per probe."""
    names = [str(name) for name in dataset["probe"].values]
    records = [series_of(dataset, name) for name in names]
    rows = [indicators(series.last_year() if last_year else series) for series in records]
    return pd.DataFrame(rows, index=pd.Index(names, name="place"))


def _date(time: TimeArray | np.datetime64) -> datetime:
    date: datetime = time.astype("datetime64[m]").item()
    return date


def _extremes(series: ProbeSeries) -> dict[str, Indicator]:
    found: dict[str, Indicator] = {}
    for name, values in (
        ("temperature [degC]", series.temperature),
        ("relative humidity [-]", series.relative_humidity),
        ("water content [kg/m3]", series.water_content),
    ):
        for word, extreme in (
            ("lowest", minimum(series.time, values)),
            ("highest", maximum(series.time, values)),
        ):
            found[f"{word} {name}"] = extreme.value
            found[f"{word} {name}, when"] = _date(extreme.time)
    return found


def _wetness(series: ProbeSeries) -> dict[str, Indicator]:
    t, humidity, step = series.temperature, series.relative_humidity, series.step
    spell = longest_spell(wet(t, humidity))
    wetness = float(time_of_wetness(t, humidity, step))
    return {
        "above 80 % [h]": float(hours(humidity > 0.80, step)),
        "at dew point, from 99 % [h]": float(hours(at_dew_point(humidity), step)),
        "above lowest isoline, above 0 degC [h]": float(hours((humidity > isoline(t)) & (t > 0.0), step)),
        "time of wetness [h/a]": wetness,
        "time of wetness class [tau]": wetness_class(wetness),
        "longest wet spell [h]": spell.length * step,
        "longest wet spell, from": _date(series.time[spell.start]) if spell.length else None,
        "largest mould dose [d]": _largest_dose(series),
    }


def _largest_dose(series: ProbeSeries) -> float:
    accumulated = dose(daily_means(series.temperature, series.step), daily_means(series.relative_humidity, series.step))
    return float(accumulated.max()) if len(accumulated) else np.nan


def _frost(series: ProbeSeries) -> dict[str, Indicator]:
    t = series.temperature
    return {
        "below 0 degC [h]": float(hours(t < 0.0, series.step)),
        "passages below 0 degC [-]": int(downward_crossings(t)),
        "frost cycles at 0 degC [-]": frost_cycles(t),
    }


def _wood(series: ProbeSeries) -> dict[str, Indicator]:
    lost = decay(series.temperature, series.relative_humidity, step=series.step).mass_loss[-1]
    found: dict[str, Indicator] = {"decay mass loss [%]": float(lost)}
    for words, seen in (("", series), (PIECE, series.of_piece())):
        moisture = None if seen is None else seen.moisture
        if moisture is None:
            continue
        peak = maximum(series.time, moisture)
        found |= {
            f"highest moisture content{words} [% dry mass]": peak.value,
            f"highest moisture content{words}, when": _date(peak.time),
            f"drying time to 20 %{words} [h]": drying_time(moisture, 20.0, step=series.step),
        }
        for line in MOISTURE_LINES:
            found[f"above {line:.0f} % dry mass{words} [d]"] = float(days_above(moisture, line, series.step))
    return found
