"""The equations once more, for references that share no code with the solver: materials, fluxes, storage.

Unknowns are T [degC] and u = ln p_c (p_c > 0 [Pa]).  With vapour pressure
p_v = p_s(T) exp(-p_c / (rho_w R_v T)),

    g_v = -delta grad p_v,   g_l = K (grad p_c + rho_w g),   q = -lambda grad T,
    d(w)/dt + div(g_v + g_l) = 0,
    d(C T + c_w w T)/dt + div(q + (L_v + c_v T) g_v + c_w T g_l) = 0.

Constants, formulas and material functions are written here from the equations; nothing
is taken from the rooms of materials or of the solver, no table is made, and slopes are
taken by complex steps.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
#: of a real or complex array to an array of the same shape
Function = Callable[[Any], Any]

RHO_W, R_V, L_V, C_W, C_V, KELVIN = 1000.0, 461.5, 2.5e6, 4180.0, 1870.0, 273.15
TINY = 1e-30


def saturation(temperature: ArrayLike) -> tuple[Floats, Floats]:
    """Saturation pressure over liquid water [Pa] and d ln p_s/dT [1/K] at [degC] (ISO 13788:2012, Annex E)."""
    t = np.asarray(temperature, dtype=float)
    return 610.5 * np.exp(17.269 * t / (237.3 + t)), 17.269 * 237.3 / (237.3 + t) ** 2


def humidity(temperature: ArrayLike, log_suction: ArrayLike) -> Floats:
    """Relative humidity over liquid water [-]."""
    return np.asarray(np.exp(-np.exp(log_suction) / (RHO_W * R_V * (np.asarray(temperature) + KELVIN))))


def vapour_pressure(temperature: ArrayLike, log_suction: ArrayLike) -> Floats:
    """p_v [Pa]."""
    return saturation(temperature)[0] * humidity(temperature, log_suction)


def log_suction(relative_humidity: float, temperature: float) -> float:
    """u in equilibrium with a relative humidity [-] at [degC]."""
    return float(np.log(-RHO_W * R_V * (temperature + KELVIN) * np.log(relative_humidity)))


@dataclass(frozen=True)
class Substance:
    """A porous material by its functions.

    Parameters
    ----------
    water : callable
        Of suction [Pa] to w [kg/m3]; analytic, it is called with complex numbers.
    vapour : callable
        Of w to delta at 20 degC [kg/(m s Pa)].
    conductivity : callable
        Of w to lambda [W/(m K)].
    heat_capacity : float
        C of the dry material [J/(m3 K)].
    liquid : callable or None
        Of w to K [s].
    power : float
        delta(T) = delta(20 degC) (T / 293.15 K)^power.
    """

    water: Function
    vapour: Function
    conductivity: Function
    heat_capacity: float
    liquid: Function | None = None
    power: float = 0.0

    def water_and_slope(self, u: Floats) -> tuple[Floats, Floats]:
        """w and dw/du [kg/m3]."""
        w = self.water(np.exp(u + TINY * 1j))
        return np.asarray(w.real), np.asarray(w.imag / TINY)


@dataclass(frozen=True)
class Transport:
    """Coefficients of the fluxes at T, u.

    Vapour is -(vapour_t grad T + vapour_u grad u), liquid K (p_c grad u + rho_w pull),
    conduction -conductivity grad T.
    """

    temperature: Floats
    vapour_t: Floats
    vapour_u: Floats
    suction: Floats
    liquid: Floats
    conductivity: Floats

    def fluxes(self, slope_t: Floats, slope_u: Floats, pull: float = 0.0) -> tuple[Floats, Floats]:
        """Energy [W/m2] and water [kg/(m2 s)] along one direction for the slopes of T and u and gravity in it."""
        vapour = -(self.vapour_t * slope_t + self.vapour_u * slope_u)
        liquid = self.liquid * (self.suction * slope_u + RHO_W * pull)
        t = self.temperature
        return -self.conductivity * slope_t + (L_V + C_V * t) * vapour + C_W * t * liquid, vapour + liquid


def transport(substance: Substance, t: Floats, u: Floats) -> Transport:
    """Coefficients of the fluxes in one material at T, u."""
    p_c, kelvin = np.exp(u), t + KELVIN
    w, rt = substance.water(p_c), RHO_W * R_V * kelvin
    ps, growth = saturation(t)
    delta = substance.vapour(w) * (kelvin / 293.15) ** substance.power
    k = substance.liquid(w) if substance.liquid else np.zeros_like(w)
    slope = delta * ps * np.exp(-p_c / rt)
    vapour_t, vapour_u = slope * (growth + p_c / (rt * kelvin)), -slope * p_c / rt
    return Transport(t, vapour_t, vapour_u, p_c, k, substance.conductivity(w) + 0.0 * w)


def storage_slopes(substance: Substance, t: Floats, u: Floats) -> tuple[Floats, Floats, Floats]:
    """dH/dT [J/(m3 K)], dH/du [J/m3] and dw/du [kg/m3] in one material."""
    w, slope = substance.water_and_slope(u)
    return substance.heat_capacity + C_W * w, C_W * t * slope, slope


def nothing(time: float) -> float:
    """Zero at any time."""
    return 0.0


@dataclass(frozen=True)
class Air:
    """What a face meets: films, and rain and sun if there are any.

    Parameters
    ----------
    temperature : callable
        Of time [s] to [degC].
    film : float
        [W/(m2 K)].
    vapour_pressure : callable
        Of time to [Pa].
    beta : float
        [s/m].
    sun, rain : callable
        Of time to absorbed sun [W/m2] and offered water [kg/(m2 s)].
    contact : float
        The face takes at most contact p_c [kg/(m2 s Pa)] of what is offered.
    """

    temperature: Callable[[float], float]
    film: float
    vapour_pressure: Callable[[float], float] = nothing
    beta: float = 0.0
    sun: Callable[[float], float] = nothing
    rain: Callable[[float], float] = nothing
    contact: float = 0.0

    def inflow(self, time: float, t: Floats, u: Floats) -> tuple[Floats, Floats, Floats]:
        """Energy [W/m2], vapour and liquid [kg/(m2 s)] into a face at T, u."""
        air = self.temperature(time)
        vapour = self.beta * (self.vapour_pressure(time) - vapour_pressure(t, u)) if self.beta else np.zeros_like(t)
        liquid = np.minimum(self.rain(time), self.contact * np.exp(u)) if self.contact else np.zeros_like(t)
        energy = self.film * (air - t) + self.sun(time) + (L_V + C_V * t) * vapour + C_W * air * liquid
        return energy, vapour, liquid
