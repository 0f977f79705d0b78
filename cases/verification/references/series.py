"""Closed forms of linear diffusion: half space, plane wall with films, rectangle, strip on the ground.

References
----------
.. [1] Carslaw, H. S., Jaeger, J. C. (1959), Conduction of Heat in Solids (sections from memory).
.. [2] Crank, J. (1975), The Mathematics of Diffusion (from memory).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq
from scipy.special import erfc, erfcx

Floats = NDArray[np.float64]


def half_space_step(x: ArrayLike, at: float) -> Floats:
    """Share of a surface step that has reached depth x [m]; ``at`` is diffusivity times time [m2]."""
    return np.asarray(erfc(np.asarray(x) / (2 * np.sqrt(at))))


def half_space_film(x: ArrayLike, at: float, film: float) -> Floats:
    """The same behind a film, ``film`` = h / lambda [1/m] [1]_, section 2.7."""
    xi = np.asarray(x, dtype=float) / (2 * np.sqrt(at))
    # exp(film x + film^2 at) erfc(v) = exp(-xi^2) erfcx(v), without overflow
    return np.asarray(erfc(xi) - np.exp(-xi * xi) * erfcx(xi + film * np.sqrt(at)))


def wall_roots(biot: float, count: int) -> Floats:
    """First roots of mu tan mu = Bi."""

    def gap(mu: float) -> float:
        return float(mu * np.sin(mu) - biot * np.cos(mu))

    return np.array([brentq(gap, n * np.pi, (n + 0.5) * np.pi, xtol=1e-14) for n in range(count)])


class PlaneWall:
    """Wall of half thickness 1 at 1, surroundings at 0 behind equal films from Fo = 0 [1]_, section 3.11."""

    def __init__(self, biot: float, terms: int = 200) -> None:
        self.mu = mu = wall_roots(biot, terms)
        self.weight = 2 * np.sin(mu) / (mu + np.sin(mu) * np.cos(mu))

    def at(self, x: ArrayLike, fourier: float) -> Floats:
        """Value at x, a share of the half thickness from the centre."""
        terms = self.weight * np.exp(-(self.mu**2) * fourier)
        return np.asarray(np.cos(np.multiply.outer(np.asarray(x, dtype=float), self.mu)) @ terms)

    def mean(self, fourier: float) -> float:
        """Mean value of the wall."""
        return float(np.sum(self.weight * np.exp(-(self.mu**2) * fourier) * np.sin(self.mu) / self.mu))


def layer_between(
    x: ArrayLike, at: float, thickness: float, start: float, left: float, right: float, terms: int = 4000
) -> Floats:
    """Layer at ``start`` whose faces are held at ``left`` and ``right`` from t = 0 [2]_.

    x and ``thickness`` in m, ``at`` diffusivity times time [m2].
    """
    z = np.asarray(x, dtype=float) / thickness
    n = np.arange(1, terms + 1)
    odd = 1.0 - (-1.0) ** n
    weight = 2 / (n * np.pi) * (start * odd - left + right * (-1.0) ** n)
    decay = np.exp(-((n * np.pi / thickness) ** 2) * at)
    return np.asarray(left + (right - left) * z + np.sin(np.multiply.outer(z, n * np.pi)) @ (weight * decay))


def layer_between_mean(
    at: float, thickness: float, start: float, left: float, right: float, terms: int = 4000
) -> float:
    """Mean of `layer_between` over the layer."""
    n = np.arange(1, 2 * terms, 2)
    gap = start - 0.5 * (left + right)
    decay = np.exp(-((n * np.pi / thickness) ** 2) * at)
    return float(0.5 * (left + right) + np.sum(8 / (n * np.pi) ** 2 * gap * decay))


def square_with_hot_top(x: ArrayLike, y: ArrayLike, terms: int = 400) -> Floats:
    """Unit square, top at 1, other sides at 0, steady."""
    n = np.arange(1, 2 * terms, 2) * np.pi
    x, y = np.asarray(x, dtype=float)[..., None], np.asarray(y, dtype=float)[..., None]
    # sinh(n y) / sinh(n) without overflow
    height = np.exp(n * (y - 1)) * -np.expm1(-2 * n * y) / -np.expm1(-2 * n)
    return np.asarray(np.sum(4 / n * np.sin(n * x) * height, axis=-1))


class StripOnGround:
    """Half plane y > 0 (depth) whose surface is 1 for |x| < B/2, falls linearly to 0 over w, 0 beyond.

    The temperature is the Poisson integral of the surface; the heat flow through the
    strip is the integral of its slope.  The form is that of Delsante, Stokes and
    Walsh (1983), Int. J. Heat Mass Transfer 26, 121-132 (from memory).

    Parameters
    ----------
    breadth, wall : float
        B and w [m].
    """

    def __init__(self, breadth: float, wall: float) -> None:
        self.breadth, self.wall = breadth, wall

    def temperature(self, x: ArrayLike, depth: ArrayLike) -> Floats:
        """Temperature as a share of the step; x from the middle of the strip [m]."""
        b, w = 0.5 * self.breadth, self.wall
        y = np.maximum(np.asarray(depth, dtype=float), 1e-100)

        def g(u: Floats) -> Floats:
            return np.asarray(u * np.arctan2(u, y) - 0.5 * y * np.log(u * u + y * y))

        x = np.asarray(x, dtype=float)
        return np.asarray((g(x + b + w) - g(x + b) - g(x - b) + g(x - b - w)) / (np.pi * w))

    def flux(self, x: ArrayLike) -> Floats:
        """Heat flow into the ground over conductivity and step at |x| < B/2 [1/m]."""
        b, w, x = 0.5 * self.breadth, self.wall, np.asarray(x, dtype=float)
        return np.asarray(np.log((b + w + x) / (b + x) * (b + w - x) / (b - x)) / (np.pi * w))

    def flow(self) -> float:
        """Heat flow through the strip over conductivity and step [-]."""
        ratio = self.breadth / self.wall
        return float(2 / np.pi * (ratio * np.log1p(1 / ratio) + np.log1p(ratio)))
