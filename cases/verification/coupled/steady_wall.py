"""Steady heat and vapour through a layered wall without condensation, against resistances in series."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np

from stemwall.cases.verification.comparison import RELATIVE, Comparison, compare
from stemwall.cases.verification.rig import Bench, Load, air, bar
from stemwall.materials.reference import linear_vapour
from stemwall.materials.thermal import LinearConductivity
from stemwall.materials.water import saturation_pressure
from stemwall.solver.discretisation.network import Surface
from stemwall.solver.kernels.support import layout
from stemwall.solver.model.settings import Accuracy

#: name, thickness [m], conductivity [W/(m K)], vapour-equivalent air layer [m], from inside out
LAYERS = (("gypsum", 0.0125, 0.25, 0.10), ("wool", 0.160, 0.04, 0.16), ("board", 0.012, 0.13, 0.60))
R_INSIDE, R_OUTSIDE = 0.13, 0.04
INSIDE, OUTSIDE = (20.0, 0.50), (12.0, 0.75)
AIR = 2.0e-10
"""Vapour permeability of air in ISO 13788 [kg/(m s Pa)]."""
#: vapour films so open that they do not count [s/m]
OPEN = 1e-3


def steady_wall() -> list[Comparison]:
    """Gypsum, wool and board between 20 degC, 50 % and 12 degC, 75 %: straight lines in both resistances.

    12.5, 160 and 12 mm of 0.25, 0.04 and 0.13 W/(m K) and s_d = 0.10, 0.16 and 0.60 m; R_si = 0.13, R_se = 0.04
    m² K/W, vapour films open.  Heat and vapour coupled, run until nothing changes.

    Limits: a thousandth of the difference of the two airs.
    """
    materials = {
        name: replace(linear_vapour(AIR * d / sd, 10.0), conductivity=LinearConductivity(conductivity))
        for name, d, conductivity, sd in LAYERS
    }
    edges = np.concatenate([[0.0], np.cumsum([d for _, d, _, _ in LAYERS])])
    lines = np.unique(np.concatenate([np.linspace(a, b, 9) for a, b in pairwise(edges)]))

    def load(t: float, surface: Surface) -> Load:
        if surface.climate == "left":
            return air(*INSIDE, 1 / R_INSIDE, OPEN)
        return air(*OUTSIDE, 1 / R_OUTSIDE, OPEN)

    bench = Bench(
        bar([(name, d) for name, d, _, _ in LAYERS]),
        materials,
        lines,
        [0.0, 0.1],
        load,
        15.0,
        8e7,
        Accuracy(temperature=1e-4, humidity=1e-5, saturation=1e-5, longest_step=1e8),
    )
    bench.run_to(1e11)
    heat = np.concatenate([[R_INSIDE], np.array([d / conductivity for _, d, conductivity, _ in LAYERS])])
    share = np.cumsum(heat) / (heat.sum() + R_OUTSIDE)
    temperature = INSIDE[0] + (OUTSIDE[0] - INSIDE[0]) * share
    sd = np.concatenate([[0.0], np.cumsum([layer[3] for layer in LAYERS])])
    p_in, p_out = (phi * float(saturation_pressure(t)) for t, phi in (INSIDE, OUTSIDE))
    pressure = p_in + (p_out - p_in) * sd / sd[-1]
    left = [s.climate for s in bench.network.surfaces].index("left")
    name, source = "Steady wall", "resistances in series, ISO 13788 without condensation"
    vapour = bench.along_x(np.asarray(bench.system.node_state[:, layout.PV]), edges)
    thousandth = 1e-3 * (INSIDE[0] - OUTSIDE[0]), 1e-3 * (p_in - p_out)
    computed = bench.along_x(bench.temperature, edges)
    flow = bench.system.flows[left, 1] / 0.1
    expected_flow = AIR * (p_in - p_out) / sd[-1]
    return [
        compare(name, source, "temperature [°C]", edges, computed, temperature, thousandth[0]),
        compare(name, source, "vapour pressure [Pa]", edges, vapour, pressure, thousandth[1]),
        compare(name, source, "vapour flow [kg/(m² s)]", 0.0, flow, expected_flow, 1e-3, RELATIVE),
    ]
