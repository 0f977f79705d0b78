"""Undisturbed ground: temperature over depth and year, and its state as a run begins."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stemwall.solver.model.arrays import Floats
from stemwall.weather.ground import GroundWave


@dataclass(frozen=True, eq=False)
class GroundProfile:
    """Temperature over depth and year of ground that has settled, and its state as a year begins.

    Parameters
    ----------
    depth : Floats
        Depths, from the surface down (n,) [m].
    mean : Floats
        Yearly means (n,) [degC].
    wave : NDArray of complex
        First harmonic (n,): T = mean + Re[wave exp(-2 pi i day/365)] [K].
    temperature_at_start, suction_at_start : Floats
        State at the first hour of the run (n,) [degC], [Pa].
    diffusivity : float
        Of the ground below the last depth [m2/d].
    years : int
        Years until it was settled.
    left : float
        Largest change of a temperature in the last of them [K].
    """

    depth: Floats
    mean: Floats
    wave: NDArray[np.complex128]
    temperature_at_start: Floats
    suction_at_start: Floats
    diffusivity: float
    years: int
    left: float

    def temperature(self, depth: ArrayLike, day: ArrayLike) -> Floats:
        """Temperature [degC] at a depth [m] on a day of the year [d], of the broadcast shape."""
        z = np.maximum(np.asarray(depth, dtype=float), 0.0)
        within = np.minimum(z, self.depth[-1])
        wave = np.interp(within, self.depth, self.wave.real) + 1j * np.interp(within, self.depth, self.wave.imag)
        damping = GroundWave(0.0, 0.0, 0.0, self.diffusivity).damping_depth
        wave = wave * np.exp(-(z - within) / damping * (1.0 - 1.0j))
        turn = np.exp(-2j * np.pi * np.asarray(day, dtype=float) / 365.0)
        return np.asarray(np.interp(within, self.depth, self.mean) + (wave * turn).real)

    def at_start(self, depth: ArrayLike, day: float) -> tuple[Floats, Floats]:
        """Temperature [degC] and suction [Pa] at depths [m] as the run begins."""
        z = np.asarray(depth, dtype=float)
        deep = np.asarray(self.temperature(z, day))
        near = np.interp(z, self.depth, self.temperature_at_start)
        return np.where(z > self.depth[-1], deep, near), np.interp(z, self.depth, self.suction_at_start)

    @property
    def surface(self) -> GroundWave:
        """The yearly wave of the surface."""
        coldest = np.angle(-self.wave[0]) / (2.0 * np.pi) * 365.0 % 365.0
        return GroundWave(float(self.mean[0]), float(abs(self.wave[0])), float(coldest), self.diffusivity)


class Ground(Protocol):
    """Undisturbed ground: what the lower edge is held at, and what the soil starts from."""

    def temperature(self, depth: ArrayLike, day: ArrayLike) -> Floats:
        """Temperature [degC] at a depth [m] on a day of the year [d]."""

    def at_start(self, depth: ArrayLike, day: float) -> tuple[Floats, Floats | None]:
        """Temperature [degC], and suction [Pa] if known, at depths [m] on the day that the run begins."""


def kept_form(profile: GroundProfile) -> tuple[Mapping[str, Floats], Mapping[str, float | int]]:
    """Arrays and plain values of a profile."""
    arrays = {name: value for name, value in vars(profile).items() if isinstance(value, np.ndarray)}
    arrays |= {"wave": np.stack([profile.wave.real, profile.wave.imag])}
    return arrays, {"diffusivity": profile.diffusivity, "years": profile.years, "left": profile.left}


def from_kept_form(arrays: Mapping[str, Floats], facts: Mapping[str, float | int]) -> GroundProfile:
    """The profile again."""
    given = dict(arrays)
    real, imaginary = given.pop("wave")
    return GroundProfile(
        **given, wave=real + 1j * imaginary, diffusivity=float(facts["diffusivity"]), years=int(facts["years"]),
        left=float(facts["left"]),
    )  # fmt: skip
