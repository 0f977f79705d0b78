"""Freezing against the two-phase closed form: front, temperatures and heat drawn."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.special import erf, erfc

from stemwall.cases.verification.comparison import RELATIVE, Comparison, compare
from stemwall.cases.verification.conduction.transient import CARSLAW, DAY, growing_lines
from stemwall.cases.verification.rig import Bench, bar, held_temperature
from stemwall.materials.material import Material
from stemwall.materials.storage import FunctionRetention, Storage
from stemwall.materials.thermal import LinearConductivity
from stemwall.materials.vapour import ConstantVapour
from stemwall.solver.kernels.physics.material_state import freezing_suction
from stemwall.solver.kernels.support.layout import C_I, C_W, L_F
from stemwall.solver.model.settings import Accuracy

Floats = NDArray[np.float64]

WATER = 300.0
"""Water that freezes [kg/m3]."""
SOLIDS = 1.3e6
"""Heat capacity of the dry ground [J/(m3 K)]."""
WARM, COLD = 4.0, -8.0
"""Start and surface temperature [degC]."""
HALF = 2.0e3
"""Suction at which half the water is frozen [Pa]."""


def _ground() -> Material:
    """Ground whose water all freezes within 0.1 K, with no flow of vapour or liquid."""
    return Material(
        id="freezing_ground",
        name="Freezing ground",
        group="reference",
        density=SOLIDS / 1000.0,
        specific_heat=1000.0,
        storage=Storage(FunctionRetention(lambda p: WATER / (1.0 + (p / HALF) ** 3)), 1e-12),
        vapour=ConstantVapour(0.0),
        conductivity=LinearConductivity(1.3, 1e-3),
        viscous=False,
        vapour_exponent=0.0,
        hatch="soil",
    )


class Neumann:
    """Half space that freezes from its surface, two phases with constant properties, §11.2."""

    def __init__(self, material: Material) -> None:
        wet = np.array([WATER])
        self.frozen = float(material.frozen_conductivity(wet)[0])
        self.unfrozen = float(material.thermal_conductivity(wet)[0])
        self.a_f = self.frozen / (SOLIDS + C_I * WATER)
        self.a_u = self.unfrozen / (SOLIDS + C_W * WATER)
        self.root = float(brentq(self._balance, 1e-3, 2.0, xtol=1e-14))

    def _balance(self, m: float) -> float:
        """Heat conducted away from the front, less heat conducted to it and latent heat."""
        away = self.frozen * -COLD * np.exp(-(m**2)) / (np.sqrt(np.pi * self.a_f) * erf(m))
        ratio = self.a_f / self.a_u
        to = self.unfrozen * WARM * np.exp(-(m**2) * ratio) / (np.sqrt(np.pi * self.a_u) * erfc(m * np.sqrt(ratio)))
        return float(away - to - L_F * WATER * m * np.sqrt(self.a_f))

    def front(self, t: float) -> float:
        """Depth of the front [m] at a time [s]."""
        return float(2 * self.root * np.sqrt(self.a_f * t))

    def temperature(self, x: Floats, t: float) -> Floats:
        """Temperature [degC] at depths [m]."""
        cold = COLD - COLD * erf(x / (2 * np.sqrt(self.a_f * t))) / erf(self.root)
        far = erfc(self.root * np.sqrt(self.a_f / self.a_u))
        warm = WARM - WARM * erfc(x / (2 * np.sqrt(self.a_u * t))) / far
        return np.asarray(np.where(x < self.front(t), cold, warm))


def freezing_front() -> list[Comparison]:
    """Ground at 4 degC whose surface is held at -8 degC; its water freezes within 0.1 K.

    Heat conduction on both sides of a front at 0 degC that sets free 334 kJ per kg of 300 kg/m³ of water; lam =
    1.6 W/(m K) unfrozen, more frozen; heat capacity 1.3 MJ/(m³ K) and that of water or ice.  Neumann: the
    front is at 2 m sqrt(a t), m the root of the heat balance at the front; temperatures are error functions.

    8 m long; cells from 4 mm, growing by 2 %; wanted error 0.02 K, steps to 6 h; 10, 30 and 90 d.  The front is
    read where half the water is frozen; temperatures further than 0.1 m from it.
    """
    material = _ground()
    exact = Neumann(material)
    reach = 8.0
    bench = Bench(
        bar([("ground", reach)], right=False),
        {"ground": material},
        growing_lines(reach, 0.004, 1.02),
        [0.0, 0.1],
        lambda t, surface: held_temperature(COLD),
        temperature=WARM,
        suction=0.0,
        accuracy=Accuracy(temperature=0.02, longest_step=6 * 3600.0),
    )
    source = f"{CARSLAW}, §11.2 (from memory); root found here"
    half = float(brentq(lambda t: freezing_suction(t)[0] - HALF, -0.2, 0.0))
    found = []
    for days in (10, 30, 90):
        t = days * DAY
        bench.run_to(t)
        name = f"Freezing ground, {days} d"
        x = np.linspace(0.0, 4.0, 4001)
        frost = float(np.interp(half, bench.along_x(bench.temperature, x), x))
        found.append(compare(name, source, "front [m]", 0.0, frost, exact.front(t), 0.01, RELATIVE))
        away = np.array([0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0])
        away = away[np.abs(away - exact.front(t)) > 0.1]
        computed = bench.along_x(bench.temperature, away)
        curve = (x[::40], exact.temperature(x[::40], t))
        found.append(
            compare(name, source, "temperature [°C]", away, computed, exact.temperature(away, t), 0.1, curve=curve)
        )
    extra = {
        "steps": float(bench.integrator.statistics.steps),
        "rejected": float(bench.integrator.statistics.rejected_error),
    }
    gap = bench.closure()[0]
    found.append(compare("Freezing ground", "closure of the run", "energy balance", 0.0, gap, 0.0, 1e-6, extra=extra))
    return found
