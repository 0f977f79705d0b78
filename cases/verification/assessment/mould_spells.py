"""Mould index through dry and wet spells, its decline, and an irregular half year."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.verification.assessment.mould import CLASSES, OJANEN, WEEK, YEAR, Growth, Row, critical, steady
from stemwall.cases.verification.comparison import Comparison, compare
from stemwall.solver.assessment.mould import mould_index

Floats = NDArray[np.float64]
FALL = "Hukka & Viitanen 1999; factors of Ojanen et al. 2010 (from memory, to be checked); straight lines, closed form"


def cycles() -> list[Comparison]:
    """A week at 97 % and a week at 60 % by turns for a year at 20 °C, all classes, several declines.

    Each dry week costs C (0.032 · 6/24 + 0.016 · 144/24) = 0.104 C: 0.032 a day in the first six hours,
    nothing to 24 h, 0.016 a day from then on, times the decline C of the material.
    """
    weeks = np.arange(1, 53)
    humidity = np.where(np.arange(YEAR) // WEEK % 2 == 0, 0.97, 0.60)
    found = []
    for code, row in CLASSES.items():
        for factor in (1.0, 0.5, 0.25, 0.1):
            growth, index, expected = Growth.of(row, 20.0, 97.0), 0.0, []
            for week in weeks:
                index = float(growth.after([7.0], index)[0]) if week % 2 else max(index - 0.104 * factor, 0.0)
                expected.append(index)
            computed = mould_index(np.full(YEAR, 20.0), humidity, code, decline=factor)[weeks * WEEK - 1]
            found.append(
                compare(
                    f"decline {factor:g}, {row.name}", OJANEN, f"mould index, {row.name} [-]", weeks, computed,
                    expected, 1e-6, axis="time [weeks]",
                )
            )  # fmt: skip
    return found


def decline() -> list[Comparison]:
    """Dry from the start: index 3 falls for a year, four declines.

    M = 3 - C (0.032 min(t, 6 h) + 0.016 max(t - 24 h, 0))/24 h, not below zero.
    """
    hours = np.array([1, 3, 6, 12, 24, 48, 96, 168, 336, 672, 1344, 2688, 4368, 6000, 8736])
    found = []
    for factor in (1.0, 0.5, 0.25, 0.1):
        index = mould_index(*steady(20.0, 50.0), "VS", decline=factor, initial=3.0)[hours - 1]
        lost = (0.032 * np.minimum(hours, 6) + 0.016 * np.maximum(hours - 24, 0)) / 24.0
        found.append(
            compare(
                f"decline {factor:g}", FALL, "mould index [-]", hours / 24.0, index,
                np.maximum(3.0 - factor * lost, 0.0), 1e-9, axis="time [d]",
            )
        )  # fmt: skip
    return found


def weather() -> list[Comparison]:
    """Half a year of irregular hours, by four Runge-Kutta steps an hour, all classes.

    Temperature 10 - 12 cos(half a year) + noise, humidity 75 to 100 % in spells of twelve hours, so that
    growth, short and long declines and frost follow each other; decline 0.25.  The integration steps across
    the bend at index 1, which costs up to a quarter hour's growth: the limit.
    """
    hours = 4368
    generator = np.random.default_rng(7)
    clock = np.arange(hours)
    t = 10.0 - 12.0 * np.cos(2 * np.pi * clock / hours) + generator.normal(0.0, 2.0, hours)
    spells = np.repeat(generator.uniform(0.75, 1.0, hours // 12), 12)
    days = np.arange(7, 183, 7)
    found = []
    for code, row in CLASSES.items():
        computed = mould_index(t, spells, code, decline=0.25)[days * 24 - 1]
        expected = _by_runge_kutta(t, 100.0 * spells, row, 0.25)[days * 24 - 1]
        found.append(
            compare(
                row.name, OJANEN.replace("Runge-Kutta of order 8", "Runge-Kutta of order 4"), "mould index [-]",
                days, computed, expected, 2e-3, axis="time [d]",
            )
        )  # fmt: skip
    return found


def _by_runge_kutta(t: Floats, percent: Floats, row: Row, factor: float, parts: int = 4) -> Floats:
    """Index at the end of each hour."""
    index, dry, found, h = 0.0, 0, [], 1.0 / (24.0 * parts)
    for temperature, rh in zip(t, percent, strict=True):
        if not 0.0 < temperature <= 50.0 or rh <= critical(float(temperature), row.least):
            dry += 1
            loss = 0.032 / 24.0 if dry <= 6 else 0.016 / 24.0 if dry > 24 else 0.0
            index = max(index - factor * loss, 0.0)
        else:
            dry, growth = 0, Growth.of(row, float(temperature), float(rh))
            for _ in range(parts):
                k1 = growth.rate(index)
                k2 = growth.rate(index + 0.5 * h * k1)
                k3 = growth.rate(index + 0.5 * h * k2)
                k4 = growth.rate(index + h * k3)
                index += h * (k1 + 2 * k2 + 2 * k3 + k4) / 6.0
        found.append(index)
    return np.array(found)
