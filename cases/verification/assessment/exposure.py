"""Counts of hours, cycles and running means against closed forms for waves; germination lines and the mould dose.

A wave m + A sin is above a level c for the share acos((c - m)/A)/pi of the time.  Sampled
hourly over twenty years, with a period that is no whole number of hours, the count comes
close to that: what is left over is part of one period.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.verification.comparison import Comparison, compare
from stemwall.solver.assessment.mould_isolines import annex14_limit, dose, dose_rate, isoline
from stemwall.solver.assessment.series_statistics import hours, running_mean
from stemwall.solver.assessment.wetness import (
    DEW_HUMIDITY,
    at_dew_point,
    downward_crossings,
    frost_cycles,
    time_of_wetness,
)
from stemwall.weather.frost import air_freezing_index
from stemwall.weather.moistair import relative_humidity, saturation_pressure

Floats = NDArray[np.float64]
YEAR, YEARS = 8760, 20
CLOCK = np.arange(YEAR)
LONG_CLOCK = np.arange(YEARS * YEAR)
#: periods [h] that share no multiple with an hour or with each other
DAILY, LONGER = 24.0 * math.sqrt(1.03), 97.0 * math.sqrt(1.07)
WAVES = "share of the time by the arc cosine, closed form"
ISOPLETHS = (
    "Zeng et al. 2023, doi 10.1177/01436244221137846 (coefficients as transcribed in an open research package); "
    "written with exponentials"
)
ANNEX = "IEA Annex 14, 1990 (from memory, to be checked)"
DOSE = "Isaksson et al. 2010, Building and Environment 45 (coefficients as transcribed in open research code)"


def _share_above(level: float, mean: float, size: float) -> float:
    """Share of the time that mean + size sin exceeds a level."""
    return math.acos(min(max((level - mean) / size, -1.0), 1.0)) / math.pi


def _wave(mean: float, size: float, period: float, clock: NDArray[np.int64] = CLOCK) -> Floats:
    return np.asarray(mean + size * np.sin(2 * np.pi * clock / period + 0.3))


def condensation() -> list[Comparison]:
    """Hours a year that a surface is at the dew point of its air, counted from 99 % as the reports do.

    Surface temperature a wave about 12 °C of 1 to 6 K, air of constant vapour pressure with a dew point of
    11 °C: at 99 % the surface is where saturation falls to p/0.99, which the bisection here finds.
    """
    pressure = float(saturation_pressure(11.0))
    low, high = 0.0, 30.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        below = 610.5 * math.exp(17.269 * middle / (237.3 + middle)) < pressure / DEW_HUMIDITY
        low, high = (middle, high) if below else (low, middle)
    sizes = np.array([1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0])
    counted, expected = [], []
    for size in sizes:
        humidity = relative_humidity(_wave(12.0, float(size), DAILY, LONG_CLOCK), pressure)
        counted.append(float(hours(at_dew_point(humidity))) / YEARS)
        expected.append(YEAR * (1.0 - _share_above(low, 12.0, float(size))))
    fine = np.linspace(1.0, 6.0, 51)
    curve = (fine, [YEAR * (1.0 - _share_above(low, 12.0, float(size))) for size in fine])
    return [
        compare("Surface at the dew point", WAVES, "hours in a year [h]", sizes, counted, expected, 1.0,
                axis="amplitude [K]", curve=curve)
    ]  # fmt: skip


def wetness() -> list[Comparison]:
    """Time of wetness (above 80 % and above 0 °C) where temperature and humidity are unrelated waves.

    Humidity 75 % + 20 % sin with 100 h, temperature m + 8 K sin with 24 h, periods incommensurable: the share
    is the product of the two shares.  Definition of ISO 9223 (abstract read).
    """
    means = np.linspace(-9.0, 9.0, 13)
    humidity = _wave(0.75, 0.20, LONGER, LONG_CLOCK)
    counted = [float(time_of_wetness(_wave(float(m), 8.0, DAILY, LONG_CLOCK), humidity)) for m in means]
    humid = _share_above(0.80, 0.75, 0.20)

    def exact(m: float) -> float:
        return YEAR * humid * _share_above(0.0, m, 8.0)

    fine = np.linspace(-9.0, 9.0, 91)
    return [
        compare(
            "Time of wetness", f"{WAVES}; product of two", "time of wetness [h/a]", means, counted,
            [exact(float(m)) for m in means], 3.0, axis="mean temperature [°C]",
            curve=(fine, [exact(float(m)) for m in fine]),
        )
    ]  # fmt: skip


def frost() -> list[Comparison]:
    """Cycles of freezing and thawing in a daily wave that swells and fades over the year.

    T = m - 1 + (1 + 5 sin²(pi d/365)) sin(2 pi t/24 h), hourly.  (a) Cycles at 0 °C, (b) below -2 and back
    above +1 °C, (c) as (b), counted only if the pores are fuller than 0.85 at some hour of it, the filling
    swinging between 0.7 and 1 in weeks.  Expected from the hours written as letters and cut at each thaw.
    """
    filling = _wave(0.85, 0.15, 7.0 * LONGER)
    means = np.linspace(-4.0, 5.0, 10)
    swing = (1.0 + 5.0 * np.sin(np.pi * CLOCK / YEAR) ** 2) * np.sin(2 * np.pi * (CLOCK + 0.5) / 24.0)
    always = np.ones(YEAR, dtype=bool)
    rows = []
    for t in means[:, None] - 1.0 + swing:
        rows.append(
            (
                frost_cycles(t), _by_letters(t, 0.0, 0.0, always),
                frost_cycles(t, freeze=-2.0, thaw=1.0), _by_letters(t, -2.0, 1.0, always),
                frost_cycles(t, freeze=-2.0, thaw=1.0, saturation=filling, critical=0.85),
                _by_letters(t, -2.0, 1.0, filling > 0.85),
                int(downward_crossings(t)), "".join("f" if v < 0.0 else "T" for v in t).count("Tf"),
            )
        )  # fmt: skip
    table = np.array(rows, dtype=float)
    names = ("(a) at 0 °C", "(b) -2 and +1 °C", "(c) as (b), wet pores", "passages below 0 °C")
    return [
        compare(name, "definition; counted here in a string of letters", "cycles in a year [-]", means,
                table[:, 2 * k], table[:, 2 * k + 1], 0.5, axis="mean temperature + 1 K [°C]")
        for k, name in enumerate(names)
    ]  # fmt: skip


def _by_letters(t: Floats, freeze: float, thaw: float, full: NDArray[np.bool_]) -> int:
    """Completed cycles: T thawed, f frost, n between; capitals F and N where the pores are full."""
    letters = "".join(
        "T" if v > thaw else ("nN" if v >= freeze else "fF")[int(wet)] for v, wet in zip(t, full, strict=True)
    )
    first, *rest = letters.split("T")
    spells = [*([] if first[:1] in ("f", "F") else [first]), *rest][:-1]
    frosts = [spell.lstrip("nN") for spell in spells]
    return sum("F" in frost or "N" in frost for frost in frosts)


def running_means() -> list[Comparison]:
    """Running mean of 30 days and of 7 days of a humidity wave, as the surface criteria use them.

    The mean of m + A sin(w t) over a window of n samples is m + A sin(n w/2)/(n sin(w/2)) sin of the angle
    at the window's middle, exactly.
    """
    found = []
    for days in (7, 30):
        window = 24 * days
        series, w = _wave(0.75, 0.2, 2160.0), 2 * np.pi / 2160.0
        damping = math.sin(window * w / 2) / (window * math.sin(w / 2))
        at = np.arange(window - 1, YEAR, 120)
        expected = 0.75 + 0.2 * damping * np.sin(w * (at - (window - 1) / 2) + 0.3)
        found.append(
            compare(f"{days} days", "sum of a sine over a window, closed form", "running mean of RH [-]", at / 24.0,
                    running_mean(series, window)[at], expected, 1e-12, axis="time [d]")
        )  # fmt: skip
    return found


def germination() -> list[Comparison]:
    """Lines of humidity over temperature that screen for mould.

    Isolines: RH = 0.02633 cosh(0.10083 (t - 30)) + c, c by rate of growth.  Annex 14: 0.033 t² - 1.5 t + 96 %.
    """
    t = np.linspace(0.0, 30.0, 13)
    up = np.exp(0.10083 * (t - 30.0))
    constants = {0.0: 71.53, 0.1: 73.00, 0.5: 76.75, 1.0: 79.50, 2.0: 82.50, 3.0: 85.02, 4.0: 87.01}
    found = [
        compare(f"{rate:g} mm/d" if rate else "lowest", ISOPLETHS, "isoline, relative humidity [%]", t,
                100.0 * isoline(t, rate), 1.3165 * (up + 1.0 / up) + c, 1e-9, axis="temperature [°C]")
        for rate, c in constants.items()
    ]  # fmt: skip
    warm = np.linspace(5.0, 25.0, 11)
    vertex = 0.033 * (warm - 1.5 / 0.066) ** 2 + 96.0 - 1.5**2 / (4 * 0.033)
    return [
        *found,
        compare("Annex 14", ANNEX, "limit of the monthly mean humidity [%]", warm, 100.0 * annex14_limit(warm),
                vertex, 1e-9, axis="temperature [°C]"),
    ]  # fmt: skip


def mould_dose() -> list[Comparison]:
    """Dose model: rate over humidity and temperature, and the sum over wet and dry spells.

    Per day (RH/90)^15.53 from 75 %, -2.7 + 1.1 RH/30 from 60 %, else -0.5; times (t/20)^0.74; -0.5 below
    0.1 °C.  Spells: ten days at 20 °C and 95 %, twenty at 50 %, by turns; the sum never falls below zero.
    """
    percent = np.array([40.0, 55.0, 60.0, 65.0, 70.0, 74.0, 75.0, 80.0, 85.0, 90.0, 95.0, 100.0])
    found = []
    for t in (5.0, 20.0):
        expected = [
            ((rh / 90.0) ** 15.53 if rh >= 75 else -2.7 + 1.1 * rh / 30 if rh >= 60 else -0.5) * (t / 20.0) ** 0.74
            for rh in percent
        ]
        found.append(
            compare(f"{t:g} °C", DOSE, "dose in a day [-]", percent, dose_rate(t, percent / 100.0), expected, 1e-12,
                    axis="relative humidity [%]")
        )  # fmt: skip
    days = np.arange(1, 181)
    gain, total, sums = (95.0 / 90.0) ** 15.53, 0.0, []
    wet = (days - 1) % 30 < 10
    for is_wet in wet:
        total = total + gain if is_wet else max(total - 0.5, 0.0)
        sums.append(total)
    computed = dose(np.full(days.size, 20.0), np.where(wet, 0.95, 0.5))
    return [*found, compare("spells", DOSE, "dose [d]", days, computed, sums, 1e-9, axis="time [d]")]


def freezing_index() -> list[Comparison]:
    """Air-freezing index of a yearly wave of temperature, warm side first.

    T = m - A cos(w t): the sum below 0 degC is (365/pi) (A sin c - m c) with c = acos(m/A), in K d.
    """
    means, size = np.array([1.0, 3.0, 6.0, 9.0]), 12.0
    cold = np.arccos(means / size)
    exact = 365.0 / math.pi * (size * np.sin(cold) - means * cold)
    # two years, so that one whole winter lies inside
    wave = [m + size * np.sin(2 * np.pi * np.arange(2 * YEAR) / YEAR) for m in means]
    daily = [w + 4.0 * np.sin(2 * np.pi * np.arange(w.size) / 24.0) for w in wave]
    return [
        compare(
            f"Air-freezing index of a wave of 12 K{words}",
            "closed form; definition of ASCE 32 (from memory, to be checked)",
            "index [K d]",
            means,
            [air_freezing_index(series) for series in waves],
            exact,
            0.5,
            axis="mean temperature [°C]",
        )
        for words, waves in (("", wave), (", with a daily wave", daily))
    ]
