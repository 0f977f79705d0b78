"""Retention of a soil: van Genuchten's curve, as it runs in every case, by least squares of volumetric contents."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares

from stemwall.cases.laboratory.resampling import Floats, Generator, Scatter
from stemwall.materials.retention import VanGenuchten

#: limits of theta_r, theta_s [m3/m3], ln alpha [1/m], ln(n - 1)
LOW = np.array([0.0, 0.05, np.log(0.02), np.log(0.03)])
HIGH = np.array([0.35, 0.95, np.log(300.0), np.log(9.0)])
START = np.array([0.03, 0.42, np.log(2.0), np.log(0.5)])


@dataclass(frozen=True)
class SoilFit:
    """Fitted retention.

    Parameters
    ----------
    suction, water : ndarray, shape (N,)
        Points [Pa], [kg/m3].
    best : ndarray, shape (4,)
        theta_r, theta_s [m3/m3], alpha [1/m], n [-].
    scatter : Scatter
        Of contents relative to theta_s.
    draws : ndarray, shape (B, 4)
    """

    suction: Floats
    water: Floats
    best: Floats
    scatter: Scatter
    draws: Floats

    def content(self, suction: Floats, number: int | None = None) -> Floats:
        """Water content [kg/m3] of the best fit or of one draw."""
        row = self.best if number is None else self.draws[number]
        return _content(row, suction)

    def written(self, number: int | None = None) -> dict[str, object]:
        """Written form of the best fit, or of one draw."""
        names = ("theta_r", "theta_s", "alpha", "n")
        row = self.best if number is None else self.draws[number]
        return {"kind": "van-genuchten", **{k: float(f"{v:.5g}") for k, v in zip(names, row, strict=True)}}


def _content(row: Floats, suction: Floats) -> Floats:
    theta_r, theta_s, alpha, n = (float(value) for value in row)
    return VanGenuchten.soil(theta_r, theta_s, alpha, n).content(suction)


def _plain(free: Floats) -> Floats:
    theta_s = free[1]
    return np.array([min(free[0], 0.95 * theta_s), theta_s, np.exp(free[2]), 1.0 + np.exp(free[3])])


def fit_soil(suction: Floats, water: Floats, assumed: float, rng: Generator, count: int) -> SoilFit:
    """Retention through points, one row for each specimen.

    Parameters
    ----------
    suction, water : ndarray, shape (N,)
        [Pa], [kg/m3]; saturation at zero suction.
    assumed : float
        Scatter relative to saturation where no residual is left over.
    rng : Generator
    count : int
        Draws.

    Raises
    ------
    ValueError
        With fewer points than parameters.
    """
    if np.unique(suction).size < 4:
        raise ValueError("contents at four suctions at least, zero included")
    top = float(water.max())

    def solve(contents: Floats, guess: Floats) -> Floats:
        found = least_squares(
            lambda free: (_content(_plain(free), suction) - contents) / top, guess, bounds=(LOW, HIGH), x_scale=0.1
        )
        return np.asarray(found.x)

    start = START.copy()
    start[1] = np.clip(top / 1000.0, LOW[1] + 1e-3, HIGH[1] - 1e-3)
    free = solve(water, start)
    fitted = _content(_plain(free), suction)
    scatter = Scatter.of((water - fitted) / top, free.size, assumed)
    inside = np.clip(free, LOW + 1e-6, HIGH - 1e-6)
    draws = np.array([_plain(solve(fitted + top * scatter.draw(rng, fitted.size), inside)) for _ in range(count)])
    return SoilFit(suction, water, _plain(free), scatter, draws)
