"""Air that flows across a layer and carries heat and vapour against and with diffusion, steady, in closed form."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.verification.comparison import RELATIVE, Comparison, compare
from stemwall.cases.verification.rig import Bench, Load, bar
from stemwall.materials.material import Material
from stemwall.materials.reference import linear_vapour
from stemwall.materials.thermal import LinearConductivity
from stemwall.solver.discretisation.network import Surface
from stemwall.solver.forcing.boundary_conditions import HOLD_HEAT
from stemwall.solver.kernels.support import layout
from stemwall.solver.model.air_path import AirPath
from stemwall.solver.model.settings import Accuracy

Floats = NDArray[np.float64]

SOURCE = (
    "Steady advection and diffusion, closed form, e.g. Patankar 1980, Numerical Heat Transfer and Fluid Flow, sec. 5.2 "
    "(from memory); evaluated here"
)
LENGTH, CONDUCTIVITY, PERMEABILITY = 0.2, 0.06, 1e-10
WARM, COLD = (20.0, 1168.4755), (2.0, 564.4)  # temperature [degC] and vapour pressure [Pa]
FLOW, CELLS, DEPTH = 6e-4, 40, 0.1  # dry air [kg/(m2 s)], cells across, height of the bar [m]
PLACES = np.array([0.05, 0.10, 0.15])


def _layer() -> Material:
    layer = linear_vapour(PERMEABILITY, 10.0)
    layer = Material(
        id="layer", name="Layer", group="reference", density=50.0, specific_heat=1000.0, storage=layer.storage,
        vapour=layer.vapour, conductivity=LinearConductivity(CONDUCTIVITY), viscous=False, vapour_exponent=0.0,
    )  # fmt: skip
    return layer


def _bench(flow: float, share: float) -> Bench:
    """The layer between two held states, with ``share`` of the vapour pressures."""

    def load(t: float, surface: Surface) -> Load:
        temperature, pressure = WARM if surface.climate == "left" else COLD
        return {
            "air_temperature": temperature, "film": HOLD_HEAT,
            "air_vapour_pressure": share * pressure, "vapour_film": 1e-5,
        }  # fmt: skip

    half = np.full(1, flow * DEPTH / 2)
    ways = [AirPath(f"row {k}", "left", "right", ((0.0, y), (LENGTH, y)), half) for k, y in enumerate((0.0, DEPTH))]
    bench = Bench(
        bar([("layer", LENGTH)]), {"layer": _layer()}, np.linspace(0.0, LENGTH, CELLS + 1), [0.0, DEPTH], load,
        temperature=10.0, suction=1e8, accuracy=Accuracy(longest_step=1e6), air_paths=ways,
    )  # fmt: skip
    bench.run_to(60 * 86400.0)
    return bench


def profile(x: Floats, peclet: float, first: float, last: float) -> Floats:
    """Steady profile of what is carried and diffuses, at x [m] of the layer."""
    return np.asarray(first + (last - first) * np.expm1(peclet * x / LENGTH) / np.expm1(peclet))


def vapour_flow(flow: float, share: float) -> float:
    """Steady vapour flow [kg/(m2 s)] of the closed form."""
    carried = flow * layout.MIXING
    grown = float(np.exp(carried * LENGTH / PERMEABILITY))
    return carried * share * (WARM[1] * grown - COLD[1]) / (grown - 1.0)


def across_a_layer() -> list[Comparison]:
    """Temperature and vapour pressure within a layer of 0.2 m, air flowing either way."""
    found = []
    for flow in (FLOW, -FLOW):
        way = "towards the cold side" if flow > 0 else "towards the warm side"
        for share, title in ((0.02, "dry air"), (1.0, "moist air")):
            bench = _bench(flow, share)
            vapour = vapour_flow(flow, share)
            # vapour carries its own heat: it counts as air of its specific heat
            capacity = flow * layout.C_A + vapour * layout.C_V
            expected = profile(PLACES, capacity * LENGTH / CONDUCTIVITY, WARM[0], COLD[0])
            computed = bench.along_x(bench.temperature, PLACES)
            name = f"Air flow {way}, {title}"
            found.append(compare(name, SOURCE, "temperature [°C]", PLACES, computed, expected, 0.01))
            if share < 1.0:
                continue
            expected = profile(PLACES, flow * layout.MIXING * LENGTH / PERMEABILITY, WARM[1], COLD[1])
            computed = bench.along_x(np.asarray(bench.system.node_state[:, layout.PV]), PLACES)
            found.append(compare(name, SOURCE, "vapour pressure [Pa]", PLACES, computed, expected, 1e-3, RELATIVE))
            through = -bench.system.flows[[s.climate == "right" for s in bench.network.surfaces], 1].sum() / DEPTH
            found.append(
                compare(name, SOURCE, "vapour flow [kg/(m² s)]", 0.0, through, vapour, 1e-3, RELATIVE, axis="")
            )
    return found
