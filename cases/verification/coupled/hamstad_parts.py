"""Parts shared by the layered walls: materials by their constants, and a bar run beside its reference."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from stemwall.cases.verification.references.physics import KELVIN, R_V, Air, Floats, Substance
from stemwall.cases.verification.references.spectral_line import Slab, SpectralLine
from stemwall.cases.verification.rig import Bench, Load, bar
from stemwall.materials.liquid import LogPolynomial, NoLiquid
from stemwall.materials.material import Material
from stemwall.materials.retention import Mode, VanGenuchten
from stemwall.materials.storage import Storage
from stemwall.materials.thermal import LinearConductivity
from stemwall.materials.vapour import AirFilledPores
from stemwall.solver.discretisation.network import Surface
from stemwall.solver.model.settings import Accuracy

DAY = 86400.0
#: depth of the lying bars [m], so that gravity across them is of no account
THIN = 1e-3
#: diffusion of vapour in air over R_v T at 20 degC, as the benchmarks write it [kg/(m s Pa)]
FREE = 26.1e-6 / (R_V * (20.0 + KELVIN))
PAPER = "Hagentoft et al. 2004, J. Thermal Envelope and Building Science 27, 327-352"
REFERENCE = "spectral elements with a stiff integrator, equations and material functions coded apart from the solver"


@dataclass(frozen=True)
class Constants:
    """Constants of a material of the benchmarks' kind.

    Parameters
    ----------
    density, specific_heat : float
        [kg/m3], [J/(kg K)].
    saturation : float
        w_s [kg/m3].
    modes : tuple of (weight, alpha, n, m)
        w = w_s sum of weight [1 + (alpha p_c)^n]^-m, alpha [1/Pa].
    resistance, shape : float
        delta = free / resistance a / ((1 - shape) a^2 + shape), a = 1 - w/w_s.
    conductivity : (float, float)
        lambda = dry + slope w [W/(m K)], [W m2/(K kg)].
    liquid : tuple of float
        ln K [s] as a polynomial of w - centre; empty: none.
    centre : float
        [kg/m3].
    """

    density: float
    specific_heat: float
    saturation: float
    modes: tuple[tuple[float, float, float, float], ...]
    resistance: float
    shape: float
    conductivity: tuple[float, float]
    liquid: tuple[float, ...] = ()
    centre: float = 0.0

    def material(self, key: str) -> Material:
        """The material as the solver has it."""
        curve = VanGenuchten(self.saturation, 0.0, tuple(Mode(*mode) for mode in self.modes), junction=None)
        return Material(
            id=key,
            name=key,
            group="reference",
            density=self.density,
            specific_heat=self.specific_heat,
            storage=Storage(curve),
            liquid=LogPolynomial(self.liquid, self.centre) if self.liquid else NoLiquid(),
            vapour=AirFilledPores(FREE / self.resistance, self.saturation, self.shape),
            conductivity=LinearConductivity(*self.conductivity),
            viscous=False,
            vapour_exponent=-1.0,
        )

    def substance(self) -> Substance:
        """The material as the reference has it."""
        return Substance(
            water=self._water,
            vapour=self._vapour,
            conductivity=lambda w: self.conductivity[0] + self.conductivity[1] * w,
            heat_capacity=self.density * self.specific_heat,
            liquid=self._liquid if self.liquid else None,
            power=-1.0,
        )

    def _water(self, p_c: Any) -> Any:
        return self.saturation * sum(f * (1.0 + (a * p_c) ** n) ** -m for f, a, n, m in self.modes)

    def _vapour(self, w: Any) -> Any:
        free = 1.0 - w / self.saturation
        return FREE / self.resistance * free / (self.shape + (1.0 - self.shape) * free**2)

    def _liquid(self, w: Any) -> Any:
        power = sum(c * (w - self.centre) ** k for k, c in enumerate(self.liquid))
        return np.exp(power)


def crowded(start: float, end: float, cells: int, strength: float = 1.6) -> Floats:
    """Lines from start to end [m] that crowd at both."""
    u = np.linspace(-1.0, 1.0, cells + 1)
    return np.asarray(start + (end - start) * 0.5 * (1 + np.tanh(strength * u) / np.tanh(strength)))


@dataclass(frozen=True)
class Wall:
    """A layered wall, outdoors on the left.

    Parameters
    ----------
    layers : sequence of (name, constants, thickness [m])
    ends : pair of Air
        Outdoors and indoors.
    start : (float, sequence of float)
        T [degC] and ln p_c of every layer; the interface takes that of the layer on its left.
    crowding : float
        Strength with which lines crowd at the ends of layers.
    """

    layers: Sequence[tuple[str, Constants, float]]
    ends: tuple[Air, Air]
    start: tuple[float, Sequence[float]]
    crowding: float = 1.6

    @property
    def bounds(self) -> Floats:
        """Where layers begin and end [m]."""
        return np.cumsum([0.0, *(layer[2] for layer in self.layers)])

    def lines(self, cells: Sequence[int]) -> list[Floats]:
        """Mesh lines of every layer."""
        b = self.bounds
        return [crowded(b[k], b[k + 1], n, self.crowding) for k, n in enumerate(cells)]

    def start_suction(self, x: Floats, y: Floats) -> Floats:
        """p_c at the start [Pa]."""
        layer = np.clip(np.searchsorted(self.bounds, x - 1e-9) - 1, 0, len(self.layers) - 1)
        return np.asarray(np.exp(np.asarray(self.start[1], dtype=float)[layer]))

    def reference(self, elements: Sequence[int], order: int = 4) -> SpectralLine:
        """The wall in spectral elements."""
        slabs = [Slab(c.substance(), x) for (_, c, _), x in zip(self.layers, self.lines(elements), strict=True)]
        return SpectralLine(slabs, self.ends, order)

    def expected(self, line: SpectralLine, times: Sequence[float], tolerance: float) -> Floats:
        """States of the reference at times [s], (times, 2, nodes)."""
        u = np.log(self.start_suction(line.x, line.x))
        return line.run(np.stack([np.full_like(u, self.start[0]), u], axis=1), times, tolerance)

    def bench(self, cells: Sequence[int], accuracy: Accuracy) -> Bench:
        """The wall as the solver sees it; without ice."""
        lines = self.lines(cells)
        return Bench(
            bar([(key, thickness) for key, _, thickness in self.layers], depth=THIN),
            {key: constants.material(key) for key, constants, _ in self.layers},
            np.concatenate([lines[0], *(x[1:] for x in lines[1:])]),
            [0.0, THIN],
            self._load,
            temperature=self.start[0],
            suction=self.start_suction,
            accuracy=accuracy,
            freezing=False,
        )

    def _load(self, t: float, surface: Surface) -> Load:
        end = self.ends[0 if surface.climate == "left" else 1]
        return {
            "air_temperature": end.temperature(t),
            "air_vapour_pressure": end.vapour_pressure(t),
            "film": end.film,
            "vapour_film": end.beta,
            "sun": end.sun(t),
            "supply": end.rain(t),
            "uptake": end.contact,
        }
