"""Self-similar uptake into a half space: ordinary differential equations in x / sqrt(t).

Two problems: coupled heat and moisture after a step of both at the surface, and
capillary uptake with an exponential diffusivity.  With eta = x / sqrt(t), fluxes
scale as 1 / sqrt(t) and d/dt becomes -(eta / 2t) d/deta, so that

    G' = (eta/2) w',    E' = (eta/2) H'

for the scaled fluxes of water G and energy E, whose constitutive laws close the
system.  Nothing of the finite-volume solver is used, only the material functions.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.integrate import solve_bvp, solve_ivp
from scipy.optimize import brentq

from stemwall.materials.material import Material
from stemwall.materials.water import (
    EVAPORATION_HEAT,
    GAS_CONSTANT,
    WATER_DENSITY,
    WATER_HEAT,
    ZERO_CELSIUS,
    saturation_pressure,
)

Floats = NDArray[np.float64]
VAPOUR_HEAT = 1870.0
"""Specific heat of vapour [J/(kg K)]."""


@dataclass(frozen=True)
class EnergyForm:
    """Which enthalpies the energy equation counts.

    ``liquid``: moving liquid carries c_w T and stored heat is conserved as enthalpy;
    without it c_w w is a plain heat capacity and only latent heat moves.
    ``capacity``: whether c_w w counts as heat capacity at all.
    """

    liquid: bool = True
    capacity: bool = True


CONSERVED = EnergyForm()
STANDARD = EnergyForm(liquid=False)
WITHOUT_WATER = EnergyForm(liquid=False, capacity=False)


def kelvin_suction(humidity: float, temperature: float) -> float:
    """Suction [Pa] in equilibrium with a relative humidity at a temperature [degC]."""
    return float(-WATER_DENSITY * GAS_CONSTANT * (temperature + ZERO_CELSIUS) * np.log(humidity))


class CoupledUptake:
    """Half space whose surface jumps to another temperature [degC] and humidity [-].

    Unknowns: T, ln p_c, and the scaled fluxes of water [kg/(m2 s^0.5)] and energy
    [J/(m2 s^0.5)], energy in units of 1e4.  The coordinate is stretched as
    eta = SCALE sinh(z), to resolve a moisture front a hundred times thinner than the heat front.
    """

    SCALE = 1e-5
    REACH = 0.012
    UNITS = np.array([1.0, 1.0, 1e-4, 1e4])

    def __init__(
        self,
        material: Material,
        surface: tuple[float, float],
        start: tuple[float, float],
        form: EnergyForm = CONSERVED,
    ) -> None:
        self.material, self.form = material, form
        self.surface, self.start = ((t, float(np.log(kelvin_suction(phi, t)))) for t, phi in (surface, start))
        self._solution = self._solve()

    def _slopes(self, t: Floats, log_suction: Floats, water_flux: Floats, energy_flux: Floats) -> tuple[Floats, ...]:
        """T', (ln p_c)', and the capacity dw/d(ln p_c), from the two flux laws."""
        m, form = self.material, self.form
        p_c = np.exp(log_suction)
        kelvin = t + ZERO_CELSIUS
        rt = WATER_DENSITY * GAS_CONSTANT * kelvin
        rise = 1e-3
        sat = saturation_pressure(t)
        sat_t = (saturation_pressure(t + rise) - saturation_pressure(t - rise)) / (2 * rise)
        phi = np.exp(-p_c / rt)
        vapour = m.vapour_permeability(p_c) * (kelvin / (20.0 + ZERO_CELSIUS)) ** m.vapour_exponent
        by_t = vapour * phi * (sat_t + sat * p_c / (rt * kelvin))  # -vapour flux per T'
        by_s = -vapour * phi * sat * p_c / rt  # -vapour flux per (ln p_c)'
        liquid = m.liquid_conductivity(p_c) * p_c  # liquid flux per (ln p_c)'
        carried = EVAPORATION_HEAT + (VAPOUR_HEAT * t if form.liquid else 0.0)
        sensible = WATER_HEAT * t if form.liquid else 0.0
        conductivity = m.thermal_conductivity(m.water_content(p_c))
        # water: -by_t T' + (liquid - by_s) u' = G;  energy: row below = E
        a, b = -by_t, liquid - by_s
        c = -conductivity - carried * by_t
        d = -carried * by_s + sensible * liquid
        determinant = a * d - b * c
        t_slope = (water_flux * d - b * energy_flux) / determinant
        u_slope = (a * energy_flux - c * water_flux) / determinant
        return t_slope, u_slope, -m.storage.capacity(p_c) * p_c, m.water_content(p_c)

    def _equations(self, z: Floats, y: Floats) -> Floats:
        t, u, g, e = y * self.UNITS[:, None]
        eta, stretch = self.SCALE * np.sinh(z), self.SCALE * np.cosh(z)
        t_slope, u_slope, capacity, water = self._slopes(t, u, g, e)
        water_slope = capacity * u_slope
        held = self.material.heat_capacity + (WATER_HEAT * water if self.form.capacity else 0.0)
        heat_slope = held * t_slope + (WATER_HEAT * t * water_slope if self.form.liquid else 0.0)
        rates = np.array([t_slope, u_slope, 0.5 * eta * water_slope, 0.5 * eta * heat_slope])
        return np.asarray(rates * stretch / self.UNITS[:, None])

    def _ends(self, near: Floats, far: Floats) -> Floats:
        return np.array(
            [
                near[0] - self.surface[0],
                near[1] - self.surface[1],
                far[0] - self.start[0],
                far[1] - self.start[1],
            ]
        )

    def _solve(self) -> Any:
        z = np.linspace(0.0, np.arcsinh(self.REACH / self.SCALE), 400)
        eta = self.SCALE * np.sinh(z)
        (t0, u0), (t1, u1) = self.surface, self.start
        heat = np.exp(-((eta / 1.7e-3) ** 2))
        front = 0.5 - 0.5 * np.tanh((eta - 0.8e-5) / 0.4e-5)
        guess = np.stack([t1 + (t0 - t1) * heat, u1 + (u0 - u1) * front, 2.9e-4 * front, 1.2e4 * heat])
        guess /= self.UNITS[:, None]
        found = solve_bvp(self._equations, self._ends, z, guess, tol=1e-6, max_nodes=50000)
        if not found.success:
            raise RuntimeError(f"the similarity equations were not solved: {found.message}")
        return found.sol

    def at(self, eta: ArrayLike) -> tuple[Floats, Floats]:
        """Temperature [degC] and water content [kg/m3] at eta = x / sqrt(t) [m/s^0.5]."""
        within = np.minimum(np.asarray(eta, dtype=float), self.REACH)
        t, u = self._solution(np.arcsinh(within / self.SCALE))[:2]
        return np.asarray(t), self.material.water_content(np.exp(u))

    @property
    def uptake(self) -> float:
        """Cumulative uptake over sqrt(t) [kg/(m2 s^0.5)]: twice the scaled flux at the surface."""
        return float(2 * self._solution(0.0)[2] * self.UNITS[2])


class ExponentialUptake:
    """Capillary uptake, D = D0 exp(n theta_r), from a (nearly) dry start; scaled with D_max = D0 e^n.

    F = -D theta_r' and F' = (x*/2) theta_r', with theta_r as the coordinate: dx*/dtheta_r = -D / F,
    dF/dtheta_r = x*/2, integrated from the surface with a guessed sorptivity 2 F until the flux or
    the water runs out; the right guess is bracketed.

    Parameters
    ----------
    n : float
        Exponent [-].
    start : float
        theta_r of the dry material [-].
    """

    def __init__(self, n: float, start: float = 1e-6) -> None:
        self.n, self.start = n, start
        closed = np.sqrt(2 / n - 1 / n**2 - np.exp(-n) * (1 / n - 1 / n**2))
        self.sorptivity = float(brentq(self._excess, 0.8 * closed, 1.2 * closed, xtol=1e-13))
        self._path = self._integrate(self.sorptivity)

    def _integrate(self, sorptivity: float) -> Any:
        """x* and F over the drop 1 - theta_r, from the surface down to the start."""

        def slopes(drop: float, y: Floats) -> list[float]:
            return [np.exp(-self.n * drop) / y[1], -0.5 * y[0]]

        def empty(drop: float, y: Floats) -> float:
            return float(y[1] - 1e-12)

        empty.terminal = True  # type: ignore[attr-defined]
        return solve_ivp(
            slopes,
            (0.0, 1.0 - self.start),
            [0.0, sorptivity / 2],
            rtol=1e-11,
            atol=1e-14,
            events=empty,
            dense_output=True,
            method="LSODA",
        )

    def _excess(self, sorptivity: float) -> float:
        """Flux left when the water has fallen to the start; what is missing, negative, otherwise."""
        path = self._integrate(sorptivity)
        if path.status == 1:
            return float(path.t[-1] - (1.0 - self.start)) - 1e-12
        return float(path.y[1, -1])

    def at(self, x: ArrayLike) -> Floats:
        """theta_r at x* = x / sqrt(D_max t)."""
        drop = np.linspace(0.0, self._path.t[-1], 20001)
        path = np.asarray(self._path.sol(drop)[0])
        return np.asarray(np.interp(np.asarray(x, dtype=float), path, 1.0 - drop, right=self.start))
