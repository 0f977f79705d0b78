"""Thermal conductivity over moisture and temperature, by least squares relative to each value."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares

from stemwall.cases.laboratory.resampling import Floats, Generator, Scatter

#: temperature at which the dry conductivity is stated [degC]
MEAN = 10.0


@dataclass(frozen=True)
class HeatPoints:
    """Measured conductivities, one row for each specimen: water [kg/m3], temperature [degC], value [W/(m K)], (N,)."""

    water: Floats
    temperature: Floats
    value: Floats


@dataclass(frozen=True)
class HeatFit:
    """lambda = (dry + per_water w) (1 + growth (T - 10 degC)).

    Parameters
    ----------
    points : HeatPoints
    best : ndarray, shape (3,)
        dry [W/(m K)], per_water [W m2/(K kg)], growth [1/K].
    scatter : Scatter
    draws : ndarray, shape (B, 3)
    fitted : tuple of bool
        Which of the three the tests say; the others are assumed.
    """

    points: HeatPoints
    best: Floats
    scatter: Scatter
    draws: Floats
    fitted: tuple[bool, bool, bool]

    names = ("dry", "per_water", "slope")
    labels = (
        ("dry conductivity at 10 °C", "W/(m K)"),
        ("growth with moisture", "W m²/(K kg)"),
        ("growth with temperature", "1/K"),
    )

    def brought(self) -> Floats:
        """Measured conductivities at `MEAN` [W/(m K)]."""
        return np.asarray(self.points.value / (1.0 + self.best[2] * (self.points.temperature - MEAN)))

    def curve(self, water: Floats, number: int | None = None, temperature: float = MEAN) -> Floats:
        """Conductivity [W/(m K)] of the best fit or of one draw."""
        return _law(self.best if number is None else self.draws[number], water, temperature)

    def written(self, number: int | None = None) -> dict[str, object]:
        """Written form of the best fit, or of one draw."""
        dry, per_water, growth = self.best if number is None else self.draws[number]
        table: dict[str, object] = {
            "kind": "linear", "dry": float(f"{dry:.5g}"), "per_water": float(f"{per_water:.4g}"), "mean": MEAN,
        }  # fmt: skip
        if growth:
            table["slope"] = float(f"{growth * dry:.3g}")
        return table


def _law(parameters: Floats, water: Floats, temperature: Floats | float) -> Floats:
    dry, per_water, growth = parameters
    return np.asarray((dry + per_water * water) * (1.0 + growth * (temperature - MEAN)))


def fit_heat(
    points: HeatPoints, per_water: float, growth: float, assumed: float, rng: Generator, count: int
) -> HeatFit:
    """Fit of what the points can say.

    Parameters
    ----------
    points : HeatPoints
    per_water : float
        Assumed growth over the dry value [m3/kg] where one moisture alone was tested.
    growth : float
        Assumed growth with temperature [1/K] where one temperature alone was tested.
    assumed : float
        Relative scatter where no residual is left over.
    rng : Generator
    count : int
        Draws.
    """
    moist = float(np.ptp(points.water)) > 1.0
    warm = float(np.ptp(points.temperature)) > 2.0

    def whole(free: Floats) -> Floats:
        dry = float(free[0])
        slope = float(free[1]) if moist else per_water * dry
        return np.array([dry, slope, float(free[-1]) if warm else growth])

    start = np.array([float(points.value.min()), *([1e-4] if moist else []), *([0.0] if warm else [])])
    low = np.array([1e-4, *([0.0] if moist else []), *([-0.02] if warm else [])])
    high = np.array([1e3, *([1.0] if moist else []), *([0.05] if warm else [])])
    steps = np.array([start[0], *([1e-3] if moist else []), *([1e-3] if warm else [])])

    def residual(free: Floats) -> Floats:
        return np.asarray(np.log(_law(whole(free), points.water, points.temperature) / points.value))

    found = least_squares(residual, np.clip(start, low + 1e-9, high), bounds=(low, high), x_scale=steps)
    free = np.asarray(found.x)
    scatter = Scatter.of(found.fun, free.size, assumed)
    # all but linear in what is fitted: one Gauss-Newton step answers each draw
    answer = np.linalg.pinv(np.asarray(found.jac))
    errors = np.array([scatter.draw(rng, points.value.size) for _ in range(count)])
    draws = np.array([whole(row) for row in np.clip(free + errors @ answer.T, low + 1e-9, high)])
    return HeatFit(points, whole(free), scatter, draws, (True, moist, warm))
