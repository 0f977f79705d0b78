"""Slab on the ground in two dimensions with films and floor insulation, against ISO 13370."""

from __future__ import annotations

import numpy as np

from stemwall.cases.verification.comparison import RELATIVE, Comparison, compare
from stemwall.cases.verification.conduction.transient import growing_lines
from stemwall.cases.verification.rig import Bench, Floats, Load, steady_heat
from stemwall.materials.reference import conductor
from stemwall.solver.discretisation.network import Surface
from stemwall.solver.model.section import Edge, Region, Section

BREADTH, WALL, GROUND, R_INSIDE, R_OUTSIDE = 8.0, 0.3, 2.0, 0.17, 0.04
RESISTANCES = (0.0, 0.5, 1.0, 2.5)
"""Of the floor [m2 K/W]."""
# flow per kelvin and metre by quadratic finite elements on two grids (computed for the dossier),
# ground 2.5 and 10 breadths each way with adiabatic cuts [W/(m K)]
ELEMENTS = {2.5: (4.52648, 3.36517, 2.74362, 1.79495), 10.0: (4.58054, 3.39880, 2.76687, 1.80531)}


def formula(resistance: float) -> float:
    """U B of ISO 13370 for an infinitely long slab, B' = B [W/(m K)] (formula from memory)."""
    thickness = WALL + GROUND * (R_INSIDE + resistance + R_OUTSIDE)
    if thickness < BREADTH:
        u = 2 * GROUND / (np.pi * BREADTH + thickness) * np.log(np.pi * BREADTH / thickness + 1)
    else:
        u = GROUND / (0.457 * BREADTH + thickness)
    return float(u * BREADTH)


def _flow(resistance: float, reach: float) -> float:
    """Flow through the whole floor per kelvin [W/(m K)], ground ``reach`` [m] beside and below."""
    half, finest = BREADTH / 2, 0.005
    wide = half + WALL + reach
    under = 0.1
    regions = (
        Region("ground", "ground", 0, -reach, wide, 0),
        Region("under the floor", "ground", 0, -under, half, 0),
        Region("under the wall", "ground", half, -under, half + WALL, 0),
    )
    section = Section(0, -reach, wide, 0, regions, edges=(Edge("top", "climate", climate="air"),))
    film = {0: (0.0, 1 / R_OUTSIDE), 1: (1.0, 1 / (R_INSIDE + resistance)), 2: (0.0, 0.0)}

    def load(t: float, surface: Surface) -> Load:
        temperature, conductance = film[surface.region]
        return {"air_temperature": temperature, "film": conductance}

    x = np.concatenate(
        [
            half - growing_lines(half, finest, 1.12)[::-1],
            half + _both_ends(WALL, finest),
            half + WALL + growing_lines(reach, finest, 1.12)[1:],
        ]
    )
    y = -np.concatenate([growing_lines(under, finest, 1.08), under + growing_lines(reach - under, 0.012, 1.08)[1:]])[
        ::-1
    ]
    bench = steady_heat(Bench(section, {"ground": conductor(GROUND)}, x, y, load, 0.0))
    floor = [s.region == 1 for s in bench.network.surfaces]
    return float(2 * bench.heat_in[floor].sum())


def _both_ends(length: float, finest: float) -> Floats:
    """Lines from 0, not included, to length, fine at both ends."""
    first = growing_lines(length / 2, finest, 1.12)
    return np.concatenate([first[1:], length - first[::-1][1:]])


def slab_on_ground() -> list[Comparison]:
    """Slab 8 m wide, floor resistances 0 to 2.5, two sizes of the ground.

    Steady conduction, lam = 2 W/(m K); floor of 8 m behind 0.17 m² K/W and the resistance of the floor, ground
    outside behind 0.04; no flow under the wall of 0.3 m; ground 2.5 and 10 breadths deep and aside, cuts
    adiabatic.  The formula of ISO 13370 is for the endless ground and an approximation: 5 %.

    Half of the section; cells from 5 mm at both edges of the wall, growing by 8 and 12 %; solved directly.
    """
    name, axis = "Slab on the ground", "floor resistance [m² K/W]"
    found = []
    flows = {reach: [_flow(r, reach * BREADTH) for r in RESISTANCES] for reach in ELEMENTS}
    for reach, expected in ELEMENTS.items():
        found.append(
            compare(
                f"{name}, ground {reach:g} breadths each way",
                "quadratic finite elements on two grids (dossier)",
                "flow [W/(m K)]",
                RESISTANCES,
                flows[reach],
                expected,
                3e-3,
                RELATIVE,
                axis=axis,
            )
        )
    found.append(
        compare(
            f"{name}, ground 2.5 breadths each way",
            "ISO 13370 (formula from memory, to be checked)",
            "flow [W/(m K)]",
            RESISTANCES,
            flows[2.5],
            [formula(r) for r in RESISTANCES],
            0.05,
            RELATIVE,
            axis=axis,
        )
    )
    return found
