"""Wall on a footing in soil: heat and moisture against finite elements of a general library."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.verification.comparison import Comparison, compare
from stemwall.cases.verification.coupled.hamstad_parts import DAY, Constants
from stemwall.cases.verification.references.finite_element_drawing import Box, Drawing
from stemwall.cases.verification.references.physics import Air, humidity, log_suction, saturation
from stemwall.cases.verification.rig import Bench, Floats
from stemwall.cases.verification.weather.air_properties import library
from stemwall.solver.model.settings import Accuracy, MeshRule

SOURCE = (
    "quadratic finite elements (scikit-fem), nodes four times as many in each direction as on the program's mesh, "
    "stiff integrator with Newton's method"
)
MATERIALS = {
    "soil": Constants(
        density=1500.0,
        specific_heat=800.0,
        saturation=400.0,
        modes=((1.0, 5e-5, 1.5, 1 / 3),),
        resistance=6.0,
        shape=0.5,
        conductivity=(0.6, 3e-3),
        liquid=(-34.0, 0.09, -1e-4),
    ),
    "concrete": Constants(
        density=2200.0,
        specific_heat=900.0,
        saturation=120.0,
        modes=((1.0, 3e-6, 1.5, 1 / 3),),
        resistance=40.0,
        shape=0.5,
        conductivity=(1.5, 3e-3),
        liquid=(-37.0, 0.07),
    ),
    "insulation": Constants(
        density=60.0,
        specific_heat=900.0,
        saturation=900.0,
        modes=((1.0, 2e-4, 2.0, 0.5),),
        resistance=2.0,
        shape=0.497,
        conductivity=(0.035, 0.5e-3),
    ),
}
START = (10.0, 0.9)
TIMES = np.array([1.0, 2, 4, 7, 10, 14, 18, 22, 26, 30, 35, 40]) * DAY
RULE = MeshRule(finest=0.008, growth=1.8, coarsest=0.2, layer_cells=2)
#: label, refinement, limits of T [K], phi [-], heat [W/m], vapour [1e-9 kg/(m s)]
MESHES = (("mesh of the program's kind", 1, 0.1, 0.01, 0.1, 30.0), ("half the cell size", 2, 0.05, 0.005, 0.05, 10.0))
PLACES = {
    "grade at the wall": (0.5, 0.0),
    "outside of the wall in the ground": (0.5, -0.2),
    "wall behind the board": (0.7, 0.0),
    "wall behind the foot of the board": (0.7, -0.4),
    "board face": (0.75, 0.0),
    "under the footing's middle": (0.6, -0.7),
    "footing corner outdoors": (0.4, -0.7),
    "footing top in the crawlspace": (0.8, -0.5),
    "floor of the crawlspace": (0.9, -0.4),
    "grade": (0.2, 0.0),
    "wall top": (0.6, 0.4),
    "wall on the footing": (0.5, -0.5),
}

#: places that are followed over time
FOLLOWED = ("wall behind the foot of the board", "footing top in the crawlspace", "outside of the wall in the ground")


def _ramp(time: float) -> float:
    """From 0 to 1 in 5 days, smoothly: the section starts in equilibrium."""
    return float(np.sin(np.pi / 2 * min(time / (5 * DAY), 1.0)) ** 2)


def _outdoors(time: float) -> float:
    return START[0] + _ramp(time) * float(-5.0 + 4.0 * np.sin(2 * np.pi * time / DAY / 20))


def _pressure(temperature: float, relative: float) -> float:
    return relative * float(saturation(temperature)[0])


def _towards(temperature: float, relative: float) -> Air:
    """Air that goes from the start to a temperature [degC] and humidity [-]; films of a room."""
    first, last = _pressure(*START), _pressure(temperature, relative)
    return Air(
        lambda t: START[0] + _ramp(t) * (temperature - START[0]), 6.0, lambda t: first + _ramp(t) * (last - first), 3e-8
    )


def drawing() -> Drawing:
    """Concrete wall on a footing, board inside, between garden and crawlspace; moist below."""
    airs = {
        "outdoors": Air(_outdoors, 20.0, lambda t: _pressure(_outdoors(t), START[1] - 0.1 * _ramp(t)), 1e-7),
        "crawlspace": _towards(18.0, 0.35),
        "deep": _towards(12.0, 0.99),
    }
    boxes = (
        Box("ground", "soil", 0.0, -0.9, 1.0, 0.0),
        Box("garden", "outdoors", 0.0, 0.0, 0.5, 0.4),
        Box("space", "crawlspace", 0.7, -0.4, 1.0, 0.4),
        Box("footing", "concrete", 0.4, -0.7, 0.8, -0.5),
        Box("wall", "concrete", 0.5, -0.5, 0.7, 0.4),
        Box("board", "insulation", 0.7, -0.4, 0.75, 0.4),
    )
    return Drawing((0.0, -0.9, 1.0, 0.4), boxes, {"bottom": "deep"}, airs, ruled=(-0.88,))


class Marched:
    """The solver's run: T and u of nodes (times, 2, nodes) and flows of surfaces (times, surfaces, 2)."""

    def __init__(self, section: Drawing, rule: MeshRule) -> None:
        self.bench = bench = Bench(
            section.section(),
            {key: constants.material(key) for key, constants in MATERIALS.items()},
            *section.lines(rule),
            section.load,
            START[0],
            suction=float(np.exp(log_suction(START[1], START[0]))),
            accuracy=Accuracy(temperature=0.005, humidity=2e-4, saturation=2e-4),
        )
        n = bench.network
        self.xy = np.stack([n.node_x, n.node_y], axis=1)
        self.places = np.array([bench.node_at(*place) for place in PLACES.values()])
        states, flows = [], []
        for time in TIMES:
            bench.run_to(time)
            states.append(np.stack([bench.temperature, np.log(bench.suction)]))
            flows.append(bench.system.flows[:, :2].copy())
        self.states, self.flows = np.array(states), np.array(flows)

    def line(self, y: float) -> NDArray[np.int64]:
        """Nodes of the mesh line next to a height, from left to right."""
        lines = self.bench.network.mesh.y_lines
        on = np.flatnonzero(np.abs(self.xy[:, 1] - lines[np.argmin(np.abs(lines - y))]) < 1e-9)
        return np.asarray(on[np.argsort(self.xy[on, 0])])


def _relative(states: Floats) -> Floats:
    """T and phi of T and u, the first two of the last axes being these."""
    return np.stack([states[..., 0, :], humidity(states[..., 0, :], states[..., 1, :])], axis=-2)


class Reference:
    """The elements' states at the compared times, on a mesh of a rule."""

    def __init__(self, section: Drawing, rule: MeshRule) -> None:
        from stemwall.cases.verification.references.finite_element_mesh import build_elements
        from stemwall.cases.verification.references.finite_element_moisture import MoistElements

        substances = {key: constants.substance() for key, constants in MATERIALS.items()}
        self.model = MoistElements(build_elements(section, rule), substances)
        self.states = self.model.run((START[0], log_suction(START[1], START[0])), [*TIMES], 1e-4)

    def at(self, xy: Floats) -> Floats:
        """T and phi at places, (times, 2, places)."""
        both = [[self.model.elements.at(values, xy) for values in state] for state in self.states]
        return _relative(np.array(both))

    def flows(self, key: tuple[str, str]) -> Floats:
        """Energy [W/m] and vapour [kg/(m s)] through a face, (times, 2)."""
        return np.array([self.model.inflow(key, t, (s[0], s[1])) for t, s in zip(TIMES, self.states, strict=True)])


def wall_moisture() -> list[Comparison]:
    """Forty days of heat and moisture in a wall on a footing between wet ground, garden and a heated crawlspace.

    Invented section, materials and climate: vapour, liquid and gravity, all properties following humidity and
    temperature, from a dry room to moist ground, below saturation everywhere.

    Limits with half the cell size are half of those with the first mesh; what is left falls by three to four.
    Vapour: 30 and 10e-9 of up to 1300e-9 kg/(m s).
    """
    library("skfem")
    section = drawing()
    fine, coarse = (Reference(section, RULE.refined(n)) for n in (2, 1))
    found = []
    for label, factor, *limits in MESHES:
        run, name = Marched(section, RULE.refined(factor)), f"Wall on a footing, heat and moisture, {label}"
        found += [*_fields(name, run, fine, coarse, limits), *_flows(name, run, fine, limits)]
    return found


def _fields(name: str, run: Marched, fine: Reference, coarse: Reference, limits: Sequence[float]) -> list[Comparison]:
    """Temperatures and humidities at places, along a line, and over time."""
    computed = _relative(run.states)
    places, line = run.places, run.line(-0.2)
    exact, rough, along, everywhere = (
        fine.at(run.xy[places]),
        coarse.at(run.xy[places]),
        fine.at(run.xy[line])[-1],
        fine.at(run.xy)[-1],
    )
    found = []
    for k, quantity in enumerate(("temperature [°C]", "relative humidity [-]")):
        gap = np.abs(computed[-1, k] - everywhere[k])
        extra = {
            "largest difference at any node": float(gap.max()),
            "root mean square over nodes": float(np.sqrt(np.mean(gap**2))),
            "change of the elements from twice their size": float(np.abs(rough[:, k] - exact[:, k]).max()),
            "nodes of the solver": float(gap.size),
            "nodes of the elements": float(fine.model.nodes),
        }
        values = computed[-1, k, places], exact[-1, k]
        numbers = np.arange(places.size) + 1
        title, labels = f"{name}, 40 d", tuple(PLACES)
        found.append(
            compare(title, SOURCE, quantity, numbers, *values, limits[k], axis="place", labels=labels, extra=extra)
        )
        values = computed[-1, k, line], along[k]
        title = f"{name}, 40 d, 0.2 m below grade"
        found.append(compare(title, SOURCE, quantity, run.xy[line, 0], *values, limits[k]))
        for place in FOLLOWED:
            at = list(PLACES).index(place)
            values = computed[:, k, places[at]], exact[:, k, at]
            title = f"{name}, {place}"
            found.append(compare(title, SOURCE, quantity, TIMES / DAY, *values, limits[k], axis="time [d]"))
    return found


def _flows(name: str, run: Marched, fine: Reference, limits: Sequence[float]) -> list[Comparison]:
    """Heat with what vapour carries, and vapour, through faces over time."""
    network, found = run.bench.network, []
    for k, surface in enumerate(network.surfaces):
        key = str(surface.climate), network.mesh.section.regions[surface.region].name
        exact, title = fine.flows(key), f"{name}, {key[0]} to {key[1]}"
        for i, (quantity, scale) in enumerate((("energy [W/m]", 1.0), ("vapour [1e-9 kg/(m s)]", 1e9))):
            values = scale * run.flows[:, k, i], scale * exact[:, i]
            found.append(compare(title, SOURCE, quantity, TIMES / DAY, *values, limits[2 + i], axis="time [d]"))
    return found
