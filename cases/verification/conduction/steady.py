"""Steady heat conduction: the two-dimensional cases of ISO 10211 and a strip on the ground."""

from __future__ import annotations

import numpy as np

from stemwall.cases.verification.comparison import RELATIVE, Comparison, compare
from stemwall.cases.verification.conduction.transient import growing_lines
from stemwall.cases.verification.references.series import StripOnGround, square_with_hot_top
from stemwall.cases.verification.rig import Bench, Floats, Load, PlaceLoad, steady_heat
from stemwall.materials.reference import conductor
from stemwall.solver.discretisation.network import Surface
from stemwall.solver.model.section import Edge, Region, Section

#: conductance that holds a node at a temperature, large against that of fine cells [W/(m2 K)]
HOLD = 1e9

# ISO 10211:2007, case 1 (roundings from memory): columns x/a = 1/8..4/8, rows y/a = 7/8..1/8 [degC]
SQUARE_PUBLISHED = (
    (9.7, 13.4, 14.7, 15.1),
    (5.3, 8.6, 10.3, 10.8),
    (3.2, 5.6, 7.0, 7.5),
    (2.0, 3.6, 4.7, 5.0),
    (1.3, 2.3, 3.0, 3.2),
    (0.7, 1.4, 1.8, 1.9),
    (0.3, 0.6, 0.8, 0.9),
)

# ISO 10211:2007, case 2: point (x, y) [mm], published [degC], and by quadratic finite elements on
# three grids (computed for the dossier of these cases)
COMPOSITE = (
    ((0.0, 47.5), 7.1, 7.0642),
    ((500.0, 47.5), 0.8, 0.7613),
    ((0.0, 41.5), 7.9, 7.8972),
    ((15.0, 41.5), 6.3, 6.2715),
    ((500.0, 41.5), 0.8, 0.8275),
    ((0.0, 36.5), 16.4, 16.4079),
    ((15.0, 36.5), 16.3, 16.3335),
    ((0.0, 0.0), 16.8, 16.7672),
    ((500.0, 0.0), 18.3, 18.3337),
)
COMPOSITE_FLOW, COMPOSITE_FLOW_ELEMENTS = 9.5, 9.4915


def square_column() -> list[Comparison]:
    """ISO 10211 case 1: half a square column, top at 20 degC, left and bottom at 0, right symmetric.

    Laplace's equation; 28 points on an 8 by 8 grid of the square.  Fourier series
    sum over odd n of 80/(n pi) sin(n pi x/a) sinh(n pi y/a)/sinh(n pi).  The standard asks for 0.1 K.

    64 by 128 equal cells, solved directly.
    """
    edges = tuple(Edge(side, "climate", climate=side) for side in ("left", "bottom", "top"))
    section = Section(0, 0, 0.5, 1, (Region("column", "solid", 0, 0, 0.5, 1),), edges=edges)

    def load(t: float, surface: Surface) -> Load:
        return {"air_temperature": 20.0 if surface.climate == "top" else 0.0, "film": HOLD}

    bench = Bench(section, {"solid": conductor(1.0)}, np.linspace(0, 0.5, 65), np.linspace(0, 1, 129), load, 5.0)
    steady_heat(bench)
    x, y = np.meshgrid(np.arange(1, 5) / 8, np.arange(7, 0, -1) / 8)
    computed = np.array([bench.temperature[bench.node_at(*p)] for p in zip(x.ravel(), y.ravel(), strict=True)])
    name, number = "Half square column (case 1)", np.arange(1, 29)
    exact = 20 * square_with_hot_top(x, y).ravel()
    published = np.ravel(SQUARE_PUBLISHED)
    axis = "point, by rows from the top"
    return [
        compare(name, "Fourier series of 400 terms", "temperature [°C]", number, computed, exact, 0.01, axis=axis),
        compare(
            name,
            "ISO 10211:2007, case 1, roundings to 0.1 (from memory, to be checked)",
            "temperature [°C]",
            number,
            computed,
            published,
            0.1,
            axis=axis,
        ),
    ]


def composite_section() -> Section:
    """ISO 10211 case 2, in metres: insulation painted over by what it holds."""
    boxes = (
        ("insulation", 0, 0, 500, 47.5),
        ("plate", 0, 0, 500, 1.5),
        ("web", 0, 1.5, 1.5, 35),
        ("flange", 0, 35, 15, 36.5),
        ("wood", 0, 36.5, 15, 41.5),
        ("concrete", 0, 41.5, 500, 47.5),
    )
    material = {"plate": "aluminium", "web": "aluminium", "flange": "aluminium"}
    regions = tuple(Region(n, material.get(n, n), *(v / 1000 for v in box)) for n, *box in boxes)
    edges = (Edge("bottom", "climate", climate="warm"), Edge("top", "climate", climate="cold"))
    return Section(0, 0, 0.5, 0.0475, regions, edges=edges)


def composite() -> list[Comparison]:
    """ISO 10211 case 2: wood, concrete, insulation and aluminium.

    500 by 47.5 mm, y up from the warm side.  Aluminium 230 W/(m K): plate y < 1.5, web x < 1.5 to y = 35, flange
    x < 15 to y = 36.5 mm; wood 0.12: x < 15 to y = 41.5; concrete 1.15: y > 41.5; insulation 0.029: the rest.
    Top 0 degC behind 0.06, bottom 20 degC behind 0.11 m² K/W; sides adiabatic.  The standard asks for 0.1 K and
    0.1 W/m.

    Cells 0.25 to 1 mm round the metal, growing by 6 % beyond; solved directly.
    """
    conductivity = {"aluminium": 230.0, "wood": 0.12, "concrete": 1.15, "insulation": 0.029}
    x = np.concatenate([np.linspace(0, 1.5, 7), np.linspace(1.5, 15, 37)[1:], 15 + growing_lines(485, 0.4, 1.06)[1:]])
    drawn = (0, 1.5, 35, 36.5, 41.5, 47.5)
    cells = (4, 68, 6, 16, 16)
    pieces = [np.linspace(a, b, n + 1)[1:] for a, b, n in zip(drawn[:-1], drawn[1:], cells, strict=True)]
    y = np.concatenate([[0.0], *pieces])

    def load(t: float, surface: Surface) -> Load:
        warm = surface.climate == "warm"
        return {"air_temperature": 20.0 if warm else 0.0, "film": 1 / 0.11 if warm else 1 / 0.06}

    bench = Bench(
        composite_section(),
        {key: conductor(value) for key, value in conductivity.items()},
        x / 1000,
        y / 1000,
        load,
        10.0,
    )
    steady_heat(bench)
    places = [(px / 1000, py / 1000) for (px, py), _, _ in COMPOSITE]
    computed = bench.temperature[[bench.node_at(*place) for place in places]]
    warm = [s.climate == "warm" for s in bench.network.surfaces]
    flow = float(bench.heat_in[warm].sum())
    name, number, axis = "Composite (case 2)", np.arange(1, 10), "point A to I"
    published = "ISO 10211:2007, case 2 (read in a secondary copy)"
    elements = "quadratic finite elements on three grids, computed independently"
    return [
        compare(
            name,
            published,
            "temperature [°C]",
            number,
            computed,
            [p for _, p, _ in COMPOSITE],
            0.1,
            axis=axis,
        ),
        compare(name, published, "heat flow [W/m]", 0, flow, COMPOSITE_FLOW, 0.1),
        compare(name, elements, "temperature [°C]", number, computed, [e for _, _, e in COMPOSITE], 0.1, axis=axis),
        compare(name, elements, "heat flow [W/m]", 0, flow, COMPOSITE_FLOW_ELEMENTS, 0.1),
    ]


def _strip_bench(strip: StripOnGround, conductivity: float, reach: float, finest: float) -> Bench:
    """Right half of the ground, the closed form on the cut edges; y = 0 is the surface."""
    b, w = strip.breadth / 2, strip.wall
    outwards = growing_lines(reach - b - w, finest, 1.12)
    across = np.linspace(0, w, round(w / finest) + 1)
    x = np.concatenate([b - growing_lines(b, finest, 1.12)[::-1], b + across[1:], b + w + outwards[1:]])
    y = -growing_lines(reach, finest, 1.08)[::-1]
    section = Section(
        0,
        -reach,
        reach,
        0,
        (Region("ground", "ground", 0, -reach, reach, 0),),
        edges=tuple(Edge(side, "climate", climate="cut") for side in ("right", "bottom", "top")),
    )

    def load(t: float, x: Floats, y: Floats) -> PlaceLoad:
        surface = np.clip((b + w - x) / w, 0.0, 1.0)
        value = np.where(y > -1e-9, surface, strip.temperature(x, -y))
        return {"air_temperature": value, "film": HOLD}

    ground = {"ground": conductor(conductivity)}
    return steady_heat(Bench(section, ground, x, y, load_at=load, temperature=0.0))


def _strip_flux(bench: Bench) -> tuple[Floats, Floats, Floats]:
    """x, width and heat flow into the ground of the faces on the surface, left to right."""
    n = bench.network
    top = n.node_y[n.face_node] > -1e-9
    up = np.array([s.facing == "up" for s in n.surfaces])
    chosen = np.flatnonzero(top & up)
    chosen = chosen[np.argsort(n.node_x[n.face_node[chosen]])]
    return n.node_x[n.face_node[chosen]], n.face_width[chosen], bench.heat_in[chosen]


def _strip_flow(bench: Bench, half: float) -> float:
    """Heat flow through the whole strip [W/m]; the node at its edge counts with the cell on its inside."""
    x, width, flow = _strip_flux(bench)
    edge = int(np.argmin(np.abs(x - half)))
    inner = 0.5 * (x[edge] - x[edge - 1]) / width[edge]
    return float(2 * (flow[:edge].sum() + inner * flow[edge]))


def strip_on_ground() -> list[Comparison]:
    """Slab 8 m wide on the ground, walls of 0.3 m: flow, fluxes and temperatures by the closed form.

    Laplace's equation in a half plane whose surface is 1 under the floor (width B), falls linearly to 0 across
    the wall (w) and is 0 beyond.  Flow 2 lam/pi [(B/w) ln(1 + w/B) + ln(1 + B/w)], lam = 2 W/(m K).

    20 by 20 m of the right half, closed form on the cut edges; cells from 10 mm, growing by 8 and 12 %.
    """
    strip, conductivity = StripOnGround(8.0, 0.3), 2.0
    bench = _strip_bench(strip, conductivity, 20.0, 0.01)
    name = "Strip on the ground, B = 8 m, w = 0.3 m"
    source = "Poisson integral of the surface, derived here; form of Delsante, Stokes & Walsh 1983 (from memory)"
    points = ((0, 1), (0, 2), (0, 5), (3, 1), (4.15, 0.5), (4.15, 2), (6, 1), (6, 3), (10, 5))
    n = bench.network
    nodes = [bench.node_at(px, -depth) for px, depth in points]
    exact = strip.temperature(n.node_x[nodes], -n.node_y[nodes])
    x, width, flow = _strip_flux(bench)
    at = [int(np.argmin(np.abs(x - p))) for p in (0.5, 1.0, 2.0, 3.0, 3.5, 3.9)]
    number = np.arange(1, len(points) + 1)
    flow_expected = conductivity * strip.flow()
    return [
        compare(
            name,
            source,
            "flow of the floor [W/(m K)]",
            0,
            _strip_flow(bench, 4.0),
            flow_expected,
            5e-3,
            RELATIVE,
        ),
        compare(
            name,
            source,
            "flux [W/(m² K)]",
            x[at],
            flow[at] / width[at],
            conductivity * strip.flux(x[at]),
            5e-3,
            RELATIVE,
        ),
        compare(
            name,
            source,
            "temperature, share of the step [-]",
            number,
            bench.temperature[nodes],
            exact,
            5e-3,
            axis="point",
        ),
    ]


def strip_of_the_ground_coupling_cases() -> list[Comparison]:
    """Slab 12 m wide, walls of 0.24 m, 20 K: the section of the case whose 3D value is known.

    As the strip of 8 m with lam = 1.9 W/(m K).  The same integral in three dimensions gives the published value of
    the square slab, 2432.597 W, which supports the closed form.
    """
    strip = StripOnGround(12.0, 0.24)
    bench = _strip_bench(strip, 1.9, 30.0, 0.008)
    return [
        compare(
            "Strip on the ground, B = 12 m, w = 0.24 m, 20 K",
            "closed form; 3D counterpart: Neymark & Judkoff 2008, NREL/TP-550-43388, GC10a (from memory)",
            "flow of the floor [W/m]",
            0,
            20 * _strip_flow(bench, 6.0),
            20 * 1.9 * strip.flow(),
            5e-3,
            RELATIVE,
        )
    ]
