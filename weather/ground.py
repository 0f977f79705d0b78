"""Undisturbed ground temperature: the annual wave of Kusuda and Achenbach, fitted to a surface or air temperature.

Days are counted from the start of 1 January (noon of that day is 0.5) and the year has 365 days.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from stemwall.weather.moistair import FloatArray

YEAR_DAYS = 365.0


@dataclass(frozen=True)
class GroundWave:
    """Undisturbed ground temperature: an annual wave at the surface, damped and delayed with depth.

    T = T_m - A exp(-z/D) cos(2 pi (day - d_0)/365 - z/D), D = sqrt(365 a/pi), a in m²/d [1]_.

    Parameters
    ----------
    mean : float
        Annual mean temperature [°C].
    amplitude : float
        Half the difference between warmest and coldest [K].
    coldest_day : float
        Day of the minimum at the surface [d].
    diffusivity : float
        Thermal diffusivity of the ground [m²/d].

    References
    ----------
    .. [1] Kusuda, Achenbach: Earth temperature and thermal diffusivity at selected stations in the United States,
       ASHRAE Transactions 71 (1965) part 1 (equation from memory, confirmed by the exact solution for a
       sinusoidal surface temperature, Carslaw and Jaeger 1959, section 2.6).
    """

    mean: float
    amplitude: float
    coldest_day: float
    diffusivity: float = 0.05

    def __post_init__(self) -> None:
        """Refuse a diffusivity that damps nothing."""
        if self.diffusivity <= 0:
            raise ValueError(f"soil diffusivity {self.diffusivity} m²/d: expected a value above 0 (soils: 0.02 to 0.1)")

    @property
    def damping_depth(self) -> float:
        """Depth at which the annual wave has fallen to 1/e [m]."""
        return float(np.sqrt(self.diffusivity * YEAR_DAYS / np.pi))

    def temperature(self, depth: ArrayLike, day: ArrayLike) -> FloatArray:
        """Ground temperature [°C], of the broadcast shape of `depth` and `day`.

        Parameters
        ----------
        depth : array_like
            Depth below the surface, positive down [m]; above it, that of the surface.
        day : array_like
            Time [d].
        """
        x = np.maximum(np.asarray(depth, dtype=np.float64), 0.0) / self.damping_depth
        angle = 2 * np.pi * (np.asarray(day, dtype=np.float64) - self.coldest_day) / YEAR_DAYS
        return np.asarray(self.mean - self.amplitude * np.exp(-x) * np.cos(angle - x))

    def at_start(self, depth: ArrayLike, day: float) -> tuple[FloatArray, None]:
        """Temperature [°C] at depths [m] on a day [d]; of moisture a wave knows nothing."""
        return self.temperature(depth, day), None


def fit_ground_wave(day: ArrayLike, temperature: ArrayLike) -> GroundWave:
    """Least-squares fit of mean and first annual harmonic.

    Parameters
    ----------
    day : array_like, shape (n,)
        Times [d].
    temperature : array_like, shape (n,)
        Surface or air temperature [°C]. Air temperature leaves out sun and snow; a ground surface is usually
        a kelvin or two warmer in the annual mean.
    """
    angle = 2 * np.pi * np.asarray(day, dtype=np.float64) / YEAR_DAYS
    basis = np.stack([np.ones_like(angle), np.cos(angle), np.sin(angle)], axis=1)
    mean, cosine, sine = np.linalg.lstsq(basis, np.asarray(temperature, dtype=np.float64), rcond=None)[0]
    coldest = np.arctan2(-sine, -cosine) / (2 * np.pi) * YEAR_DAYS % YEAR_DAYS
    return GroundWave(float(mean), float(np.hypot(cosine, sine)), float(coldest))
