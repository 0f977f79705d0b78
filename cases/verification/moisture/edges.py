"""Laws at the edges of a section, by hand: a facing, free drainage, ground water at the side."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.verification.comparison import RELATIVE, Comparison, compare
from stemwall.cases.verification.rig import Bench, Load, air, bar, held_temperature
from stemwall.materials.material import Material
from stemwall.materials.reference import gardner_soil, two_layer_insulation
from stemwall.solver.discretisation.network import Surface
from stemwall.solver.kernels.support import layout
from stemwall.solver.model.section import Edge, Membrane, Region, Section

Floats = NDArray[np.float64]
HAND = "worked by hand"

#: equivalent air layers of the facing, dry and wet cup [m]; invented, of the size of kraft paper on bitumen
DRY_CUP, WET_CUP = 8.6, 1.9
#: vapour film [s/m] and width [m]
FILM, WIDTH = 5e-8, 0.1


def _always(row: Load) -> Callable[[float, Surface], Load]:
    """One load at all times and on all surfaces."""
    return lambda t, surface: row


def _flows(
    section: Section, materials: Mapping[str, Material], lines: tuple[list[float], list[float]],
    load: Callable[[float, Surface], Load], temperature: float, suction: float | Callable[[Floats, Floats], Floats],
) -> tuple[Bench, Floats]:  # fmt: skip
    """A bench at its start, and what enters it through its surfaces there, (surfaces, 5)."""
    bench = Bench(section, materials, *lines, load, temperature=temperature, suction=suction)
    system, march = bench.system, bench.integrator
    system.evaluate(march.state)
    system.assemble(march.state, 0.0, np.zeros_like(system.residual), march.loads.at(0.0, 0.0), jacobian=False)
    return bench, np.array(system.flows)


def faced_insulation() -> list[Comparison]:
    """Vapour through a facing on the face of an insulation, at 20 °C, over the humidities on both sides.

    Film and facing in series.  The facing passes delta_air / sd, on a straight line from the dry cup at a mean humidity
    of 25 % to the wet cup at 75 %: the law of a membrane inside the section.
    """
    facing = Membrane("facing", 0.0, 0.0, 0.0, WIDTH, DRY_CUP, WET_CUP)
    section = replace(bar([("insulation", 0.1)], right=False), membranes=(facing,))
    inside = np.array([0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.9])
    outside = np.array([0.2, 0.4, 0.5, 0.3, 0.9, 0.7, 0.9, 0.8])
    saturation = 610.5 * np.exp(17.269 * 20.0 / (237.3 + 20.0))
    computed = []
    for own, other in zip(inside, outside, strict=True):
        suction = float(-np.log(own) * layout.RHO_W * layout.R_V * 293.15)
        load = air(20.0, float(other), 8.0, FILM)
        lines = ([0.0, 0.05, 0.1], [0.0, WIDTH])
        computed.append(_flows(section, {"insulation": two_layer_insulation()}, lines, _always(load),
                               20.0, suction)[1][0, 1])  # fmt: skip
    mean = 0.5 * (inside + outside)
    wet = np.clip((mean - 0.25) / 0.5, 0.0, 1.0)
    passing = 1.9664e-10 * ((1.0 - wet) / DRY_CUP + wet / WET_CUP)
    expected = WIDTH * (outside - inside) * saturation / (1.0 / FILM + 1.0 / passing)
    what, axis = "vapour through the face [kg/(m s)]", "mean humidity of both sides [-]"
    return [compare("Facing", HAND, what, mean, np.array(computed), expected, 1e-6, RELATIVE, axis=axis)]


def drained_soil() -> list[Comparison]:
    """Free drainage at the foot of soil, 0 to 30 °C: K rho g, times the fluidity of water where a material states it.

    Exponential soil, K = K_s exp(-alpha h) with 1e-6 m/s and 2 per metre, at 1 kPa.  Fluidity relative to 20 °C by
    Vogel's form, exp(570.58 K (1 / 153.15 K - 1 / (T - 140 K))).
    """
    temperature = np.array([0.0, 5.0, 10.0, 20.0, 30.0])
    at_20 = 1e-6 * np.exp(-2.0 * 1000.0 / 9810.0) * 1000.0 * WIDTH
    fluidity = np.exp(570.5806 * (1.0 / 153.15 - 1.0 / (temperature + 133.15)))
    found = []
    for viscous, expected in ((False, np.full(temperature.size, at_20)), (True, at_20 * fluidity)):
        soil = replace(gardner_soil(), viscous=viscous)
        section, lines = bar([("soil", 1.0)], right=False, upright=True), ([0.0, WIDTH], [0.0, 0.5, 1.0])
        computed = []
        for t in temperature.tolist():
            load = {**held_temperature(t), "drainage": 1.0}
            computed.append(-_flows(section, {"soil": soil}, lines, _always(load), t, 1e3)[1][0, 2])
        name, what = "Free drainage, " + ("viscous" if viscous else "of one viscosity"), "liquid that leaves [kg/(m s)]"
        found.append(
            compare(
                name, HAND, what, temperature, np.array(computed), expected, 1e-6, RELATIVE, axis="temperature [°C]"
            )
        )
    return found


def water_at_the_side() -> list[Comparison]:
    """Soil at hydrostatic rest beside an edge held at the water table, 1 m above and below it: nothing flows."""
    section = Section(
        0.0, -2.0, 1.0, 0.0, (Region("ground", "soil", 0.0, -2.0, 1.0, 0.0),), edges=(Edge("left", water="table"),),
        water_table=-1.0,
    )  # fmt: skip
    load = {"supply": layout.UNLIMITED, "uptake": 1e-4, "held_suction": -9810.0}
    bench, flows = _flows(
        section, {"soil": gardner_soil()}, ([0.0, 0.5, 1.0], [-2.0, -1.5, -1.0, -0.5, 0.0]), _always(load), 10.0,
        lambda x, y: 9810.0 * (y + 1.0),
    )  # fmt: skip
    name, most = "Ground water at the side", float(np.abs(bench.system.residual[:, 1]).max())
    return [
        compare(
            name, HAND, "largest flow through the edge [kg/(m s)]", 0.0, float(np.abs(flows[:, 2]).max()), 0.0, 1e-12
        ),
        compare(name, HAND, "largest net inflow of a node [kg/(m s)]", 0.0, most, 0.0, 1e-12),
    ]
