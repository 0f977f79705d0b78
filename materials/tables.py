"""Material functions tabulated for kernels: uniform grids, value and slope, cubic Hermite.

The abscissa is the stretched suction s = asinh(p_c / 100 Pa), linear near saturation and
logarithmic when dry. Slopes are exact where the model gives them, and limited so that the cubic
between two nodes is monotone [1]_.

References
----------
.. [1] Fritsch, F. N., Carlson, R. E. (1980), SIAM J. Numer. Anal. 17, 238-246.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stemwall.materials.material import Material
from stemwall.materials.water import DRY_SUCTION, FloatArray

SUCTION_SCALE: Final = 100.0
"""Suction below which the stretched suction is linear [Pa]."""
LOWEST_SUCTION: Final = -3.0e7
"""Suction of the first node [Pa]: ice that draws water into full pores builds pressures of megapascals."""
NODES: Final = 1200
"""Default number of nodes in the stretched suction."""
TEMPERATURE_GRID: Final = (-50.0, 2.0, 71)
"""First temperature [degC], step [K] and number of nodes of the temperature factor."""

_GAUSS = np.polynomial.legendre.leggauss(8)


def stretched(suction: ArrayLike) -> FloatArray:
    """Stretched suction s [-] of a suction [Pa]."""
    return np.asarray(np.arcsinh(np.asarray(suction, dtype=np.float64) / SUCTION_SCALE))


def suction(s: ArrayLike) -> FloatArray:
    """Suction [Pa] of a stretched suction [-]."""
    return np.asarray(SUCTION_SCALE * np.sinh(np.asarray(s, dtype=np.float64)))


def suction_slope(s: ArrayLike) -> FloatArray:
    """dp_c/ds [Pa]."""
    return np.asarray(SUCTION_SCALE * np.cosh(np.asarray(s, dtype=np.float64)))


@dataclass(frozen=True)
class MaterialTables:
    """Tables of M materials on N nodes; the last axis holds value and slope.

    Attributes
    ----------
    ids : tuple of str
        Material identifiers, in order.
    s0, ds : float
        First node and step of the stretched suction [-].
    t0, dt : float
        First node [degC] and step [K] of the temperature factor.
    water : ndarray, shape (M, N, 2)
        Water content w [kg/m3] and dw/ds < 0.
    flux_potential : ndarray, shape (M, N, 2)
        Phi, integral of K from p_c to dry at 20 degC [kg/(m s)], and dPhi/ds = -K dp_c/ds.
    vapour : ndarray, shape (M, N, 2)
        Vapour permeability at 20 degC [kg/(m s Pa)].
    conductivity : ndarray, shape (M, N, 2)
        Thermal conductivity at reference temperature [W/(m K)].
    frozen_conductivity : ndarray, shape (M, N, 2)
        The same with all water frozen [W/(m K)].
    temperature_factor : ndarray, shape (M, Nt, 2)
        Factor on thermal conductivity [-] and its slope [1/K].
    heat_capacity : ndarray, shape (M,)
        Of the dry material [J/(m3 K)].
    vapour_exponent : ndarray, shape (M,)
        delta(T) = delta(20 degC) (T / 293.15 K)^vapour_exponent.
    has_liquid, viscous : ndarray of bool, shape (M,)
        Whether liquid flows, and whether it follows the viscosity of water.
    """

    ids: tuple[str, ...]
    s0: float
    ds: float
    t0: float
    dt: float
    water: FloatArray
    flux_potential: FloatArray
    vapour: FloatArray
    conductivity: FloatArray
    frozen_conductivity: FloatArray
    temperature_factor: FloatArray
    heat_capacity: FloatArray
    vapour_exponent: FloatArray
    has_liquid: NDArray[np.bool_]
    viscous: NDArray[np.bool_]


def limit_slopes(values: FloatArray, slopes: FloatArray, step: float) -> FloatArray:
    """Slopes limited so that the cubic Hermite interpolant is monotone [1]_.

    A slope is kept between 0 and three times the smaller secant of its two intervals where the
    secants agree in sign, and set to zero where they do not.

    Parameters
    ----------
    values, slopes : ndarray, shape (N,)
        At the nodes.
    step : float
        Distance of the nodes.
    """
    secant = np.diff(values) / step
    left = np.concatenate([secant[:1], secant])
    right = np.concatenate([secant, secant[-1:]])
    bound = np.where(left * right > 0.0, 3.0 * np.minimum(np.abs(left), np.abs(right)), 0.0)
    direction = np.sign(left)
    return np.asarray(direction * np.clip(direction * slopes, 0.0, bound))


def _node(values: FloatArray, slopes: FloatArray, step: float) -> FloatArray:
    """Value and limited slope, shape (N, 2)."""
    return np.stack([values, limit_slopes(values, slopes, step)], axis=-1)


def _differentiated(function: Callable[[FloatArray], FloatArray], x: FloatArray, step: float) -> FloatArray:
    """Value and slope of a smooth function, the slope by central differences over 1e-3 steps."""
    h = 1e-3 * step
    return _node(function(x), (function(x + h) - function(x - h)) / (2.0 * h), step)


def _water_table(material: Material, s: FloatArray, step: float) -> FloatArray:
    p_c = np.minimum(suction(s), DRY_SUCTION)
    return _node(material.water_content(p_c), -material.storage.capacity(p_c) * suction_slope(s), step)


def _frozen_table(material: Material, s: FloatArray, step: float) -> FloatArray:
    return _differentiated(lambda x: material.frozen_conductivity(material.water_content(suction(x))), s, step)


def _flux_potential_table(material: Material, s: FloatArray, step: float) -> FloatArray:
    """Phi by Gauss-Legendre quadrature of K dp_c over each interval, summed from the dry end."""
    offsets, weights = _GAUSS
    inner = s[:-1, None] + 0.5 * step * (1.0 + offsets)
    density = material.liquid_conductivity(suction(inner)) * suction_slope(inner)
    pieces = 0.5 * step * density @ weights
    values = np.concatenate([np.cumsum(pieces[::-1])[::-1], [0.0]])
    return _node(values, -material.liquid_conductivity(suction(s)) * suction_slope(s), step)


def _vapour_table(material: Material, s: FloatArray, step: float) -> FloatArray:
    return _differentiated(lambda x: material.vapour_permeability(suction(x)), s, step)


def _conductivity_table(material: Material, s: FloatArray, step: float) -> FloatArray:
    def function(x: FloatArray) -> FloatArray:
        return material.thermal_conductivity(material.water_content(suction(x)))

    return _differentiated(function, s, step)


def tabulate(materials: Sequence[Material], nodes: int = NODES) -> MaterialTables:
    """Tables of the materials, in the given order.

    Parameters
    ----------
    materials : sequence of Material
        At least one.
    nodes : int
        Number of nodes in the stretched suction.
    """
    s = np.linspace(float(stretched(LOWEST_SUCTION)), float(stretched(DRY_SUCTION)), nodes)
    step = float(s[1] - s[0])
    t0, dt, count = TEMPERATURE_GRID
    t = t0 + dt * np.arange(count, dtype=np.float64)

    def stack(rows: list[FloatArray]) -> FloatArray:
        return np.ascontiguousarray(np.stack(rows), dtype=np.float64)

    return MaterialTables(
        ids=tuple(m.id for m in materials),
        s0=float(s[0]),
        ds=step,
        t0=t0,
        dt=dt,
        water=stack([_water_table(m, s, step) for m in materials]),
        flux_potential=stack([_flux_potential_table(m, s, step) for m in materials]),
        vapour=stack([_vapour_table(m, s, step) for m in materials]),
        conductivity=stack([_conductivity_table(m, s, step) for m in materials]),
        frozen_conductivity=stack([_frozen_table(m, s, step) for m in materials]),
        temperature_factor=stack([_differentiated(m.temperature.factor, t, dt) for m in materials]),
        heat_capacity=np.array([m.heat_capacity for m in materials]),
        vapour_exponent=np.array([m.vapour_exponent for m in materials]),
        has_liquid=np.array([m.has_liquid for m in materials]),
        viscous=np.array([m.viscous for m in materials]),
    )


def cubics(table: FloatArray, step: float) -> FloatArray:
    """Coefficients of the Hermite cubic of each cell, in powers of 0 <= u <= 1.

    Parameters
    ----------
    table : ndarray, shape (..., N, 2)
        Values and slopes at the nodes.
    step : float
        Distance of the nodes.

    Returns
    -------
    ndarray, shape (..., N - 1, 4)
        c0 to c3 of c0 + c1 u + c2 u^2 + c3 u^3.
    """
    values, rises = table[..., 0], step * table[..., 1]
    v0, v1, m0, m1 = values[..., :-1], values[..., 1:], rises[..., :-1], rises[..., 1:]
    return np.stack([v0, m0, 3.0 * (v1 - v0) - 2.0 * m0 - m1, 2.0 * (v0 - v1) + m0 + m1], axis=-1)


def evaluate(table: FloatArray, start: float, step: float, x: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Value and slope of one table by cubic Hermite interpolation; held constant outside.

    Parameters
    ----------
    table : ndarray, shape (N, 2)
        Values and slopes at the nodes.
    start, step : float
        First node and distance of the nodes.
    x : array_like
        Abscissae.

    Returns
    -------
    value, slope : ndarray
        Same shape as `x`.
    """
    position = np.clip((np.asarray(x, dtype=np.float64) - start) / step, 0.0, len(table) - 1.0)
    i = np.minimum(position.astype(np.int64), len(table) - 2)
    u = position - i
    c0, c1, c2, c3 = np.moveaxis(cubics(table, step)[i], -1, 0)
    return np.asarray(c0 + u * (c1 + u * (c2 + u * c3))), np.asarray((c1 + u * (2.0 * c2 + 3.0 * u * c3)) / step)
