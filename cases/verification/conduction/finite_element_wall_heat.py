"""Wall on a footing in soil: conduction in many materials against finite elements of a general library."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from stemwall.cases.verification.comparison import Comparison, compare
from stemwall.cases.verification.coupled.hamstad_parts import DAY
from stemwall.cases.verification.references.finite_element_drawing import Box, Drawing
from stemwall.cases.verification.references.physics import Air
from stemwall.cases.verification.rig import Bench, Floats
from stemwall.cases.verification.weather.air_properties import library
from stemwall.materials.reference import conductor
from stemwall.solver.model.settings import Accuracy, MeshRule

if TYPE_CHECKING:
    from stemwall.cases.verification.references.finite_element_heat import HeatElements

SOURCE = (
    "quadratic finite elements (scikit-fem), cells four times as many in each direction as on "
    "the program's mesh, fifth order in time"
)
#: lambda [W/(m K)], C [J/(m3 K)]
SOLIDS = {"soil": (1.5, 2.0e6), "concrete": (2.0, 2.1e6), "insulation": (0.035, 4e4), "wood": (0.13, 8e5)}
START, STEP, COUNT = 10.0, 2 * DAY, 45
#: what ISO 10211 asks of a precise method (from memory) [K], [W/m]
LIMIT = 0.1
#: every third step is compared
EVERY = 3
PLACES = {
    "grade at the wall": (1.5, 0.0),
    "outside of the wall 0.5 m deep": (1.5, -0.5),
    "footing top outside": (1.5, -1.0),
    "footing corner": (1.3, -1.2),
    "under the footing": (1.6, -1.2),
    "wall behind the board": (1.7, -0.4),
    "board face": (1.75, -0.4),
    "floor of the crawlspace at the wall": (1.75, -0.8),
    "floor of the crawlspace": (2.5, -0.8),
    "ground under the crawlspace": (2.5, -1.6),
    "ground outdoors": (0.5, -0.5),
    "wall top": (1.6, 0.4),
    "joist end": (1.5, 0.4),
    "floor over the board": (1.75, 0.4),
    "upper face of the floor": (2.5, 0.6),
    "foot of the frame": (1.7, 0.6),
}


def _ramp(time: float) -> float:
    """From 0 to 1 in 15 days, smoothly: the section starts in equilibrium."""
    return float(np.sin(np.pi / 2 * min(time / (15 * DAY), 1.0)) ** 2)


def _outdoors(time: float) -> float:
    """Waves of a year and of a month [degC]."""
    days = time / DAY
    year = -1.0 - 11.0 * np.cos(2 * np.pi * (days + 30) / 365)
    return START + _ramp(time) * float(year + 4.0 * np.sin(2 * np.pi * days / 30))


def drawing() -> Drawing:
    """Concrete wall on a footing, board inside, crawlspace, floor and house above."""
    airs = {
        "outdoors": Air(_outdoors, 20.0),
        "crawlspace": Air(lambda t: START + 4.0 * _ramp(t), 6.0),
        "house": Air(lambda t: START + 10.0 * _ramp(t), 6.0),
        "deep": Air(lambda t: START, 2.0),
    }
    boxes = (
        Box("ground", "soil", 0.0, -2.5, 4.0, 0.0),
        Box("garden", "outdoors", 0.0, 0.0, 1.5, 1.0),
        Box("space", "crawlspace", 1.7, -0.8, 4.0, 0.4),
        Box("room", "house", 1.7, 0.6, 4.0, 1.0),
        Box("footing", "concrete", 1.3, -1.2, 1.9, -1.0),
        Box("wall", "concrete", 1.5, -1.0, 1.7, 0.4),
        Box("board", "insulation", 1.7, -0.8, 1.75, 0.4),
        Box("floor", "wood", 1.5, 0.4, 4.0, 0.6),
        Box("frame", "insulation", 1.5, 0.6, 1.7, 1.0),
    )
    return Drawing((0.0, -2.5, 4.0, 1.0), boxes, {"bottom": "deep"}, airs)


def solver(section: Drawing, rule: MeshRule) -> tuple[Bench, Floats, Floats]:
    """The bench at the end, node temperatures and heat through surfaces at the compared times."""
    bench = Bench(
        section.section(),
        {key: conductor(*numbers) for key, numbers in SOLIDS.items()},
        *section.lines(rule),
        section.load,
        START,
        accuracy=Accuracy(temperature=0.01),
    )
    temperatures, flows = [], []
    for k in range(EVERY, COUNT + 1, EVERY):
        bench.run_to(k * STEP)
        temperatures.append(bench.temperature.copy())
        flows.append(bench.heat_in.copy())
    return bench, np.array(temperatures), np.array(flows)


def _largest_on_own_mesh(section: Drawing, reference: HeatElements, states: Floats) -> float:
    """Largest difference at the places at any time on the mesh that the program makes by its own rule [K]."""
    bench, computed, _ = solver(section, MeshRule())
    n = bench.network
    nodes = np.array([bench.node_at(*place) for place in PLACES.values()])
    places = np.stack([n.node_x[nodes], n.node_y[nodes]], axis=1)
    exact = np.array([reference.elements.at(state, places) for state in states])
    return float(np.abs(computed[:, nodes] - exact).max())


def wall_heat() -> list[Comparison]:
    """Three months of heat conduction in a wall on a footing with insulation, crawlspace and floor.

    Invented section of soil, concrete, insulation and wood in a climate of waves of a year and of a month; every
    surface behind a film.  ISO 10211 (from memory) asks 0.1 K and 0.1 W/m of a precise method.  That is judged with
    half the cell size of the program's own mesh, whose cells of 10 mm are larger than the 6 mm (lambda over h) in
    which the film acts on the insulation at the foot of the frame; what the program's own mesh is off by is stated.
    """
    library("skfem")
    from stemwall.cases.verification.references.finite_element_heat import HeatElements
    from stemwall.cases.verification.references.finite_element_mesh import build_elements

    section, rule = drawing(), MeshRule()
    reference, rough = (HeatElements(build_elements(section, rule.refined(n)), SOLIDS) for n in (4, 2))
    states, half = (model.run(START, STEP, COUNT)[EVERY - 1 :: EVERY] for model in (reference, rough))
    times = np.arange(EVERY, COUNT + 1, EVERY) * STEP
    found = []
    bench, computed, flows = solver(section, rule.refined(2))
    n = bench.network
    nodes = np.array([bench.node_at(*place) for place in PLACES.values()])
    places = np.stack([n.node_x[nodes], n.node_y[nodes]], axis=1)
    exact, less = (
        np.array([model.elements.at(t, places) for t in ts]) for model, ts in ((reference, states), (rough, half))
    )
    everywhere = reference.elements.at(states[-1], np.stack([n.node_x, n.node_y], axis=1))
    own = _largest_on_own_mesh(section, reference, states)
    extra = {
        "largest difference at any node [K]": float(np.abs(bench.temperature - everywhere).max()),
        "root mean square over nodes [K]": float(np.sqrt(np.mean((bench.temperature - everywhere) ** 2))),
        "change of the elements from twice their size [K]": float(np.abs(less - exact).max()),
        "largest difference on the program's own mesh, not judged [K]": own,
        "nodes of the solver": float(n.nodes),
        "nodes of the elements": float(reference.elements.basis.N),
    }
    name, quantity = "Wall on a footing, heat, half the cell size", "temperature [°C]"
    found.append(
        compare(
            f"{name}, 90 d",
            SOURCE,
            quantity,
            np.arange(nodes.size) + 1,
            computed[-1][nodes],
            exact[-1],
            LIMIT,
            axis="place",
            labels=tuple(PLACES),
            extra=extra,
        )
    )
    for place in ("grade at the wall", "wall behind the board", "footing corner", "foot of the frame"):
        k = list(PLACES).index(place)
        values = computed[:, nodes[k]], exact[:, k]
        found.append(compare(f"{name}, {place}", SOURCE, quantity, times / DAY, *values, LIMIT, axis="time [d]"))
    for k, surface in enumerate(n.surfaces):
        key = str(surface.climate), n.mesh.section.regions[surface.region].name
        flow = [reference.flow(key, time, t) for time, t in zip(times, states, strict=True)]
        title, unit = f"{name}, {key[0]} to {key[1]}", "heat [W/m]"
        found.append(compare(title, SOURCE, unit, times / DAY, flows[:, k], flow, LIMIT, axis="time [d]"))
    return found
