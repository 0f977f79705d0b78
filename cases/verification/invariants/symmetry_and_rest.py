"""What must hold whatever the numbers: symmetry, turning, equilibrium at rest, conservation."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.verification.comparison import Comparison, compare
from stemwall.cases.verification.conduction.transient import DAY, HOUR
from stemwall.cases.verification.invariants.manufactured import moist_soils
from stemwall.cases.verification.moisture.gravity import WEIGHT, YEAR, loam
from stemwall.cases.verification.rig import Bench, Load, air, bar, held_suction
from stemwall.materials.material import Material
from stemwall.materials.reference import en15026, two_layer_insulation
from stemwall.solver.discretisation.network import Surface
from stemwall.solver.forcing.boundary_conditions import HOLD_HEAT
from stemwall.solver.model.section import Edge, Region, Section, Side
from stemwall.solver.model.settings import Accuracy

Floats = NDArray[np.float64]
#: so tight that only rounding is left
EXACT = Accuracy(temperature=1e-11, humidity=1e-12, saturation=1e-12, longest_step=HOUR)
SOURCE = "invariance"


def _dry_pair() -> dict[str, Material]:
    """Two materials with heat and vapour flow but no liquid, so that gravity does not act."""
    wool = two_layer_insulation()
    board = replace(en15026(), id="board", liquid=wool.liquid)
    return {"board": board, "wool": wool}


def _weather(t: float, surface: Surface) -> Load:
    if surface.climate == "indoors":
        return air(20.0, 0.5, 8.0, 2e-8)
    return air(5.0 + 8.0 * np.sin(2 * np.pi * t / DAY), 0.8, 20.0, 8e-8)


def _fields(bench: Bench) -> Floats:
    """Temperature and log suction of every node, sorted by y, then x: shape (ny, nx, 2)."""
    n = bench.network
    order = np.lexsort((n.node_x, n.node_y))
    values = np.stack([bench.temperature[order], np.log(bench.suction[order])], axis=-1)
    return np.asarray(values.reshape(n.mesh.y_lines.size, n.mesh.x_lines.size, 2))


def _largest(name: str, a: Floats, b: Floats, limit: float = 1e-10) -> list[Comparison]:
    """Largest differences of temperature and log suction, relative to 1 K and 1."""
    gap = np.abs(a - b).reshape(-1, 2).max(axis=0)
    return [
        compare(
            name,
            SOURCE,
            "difference of temperature [K], log suction [-]",
            [1, 2],
            gap,
            [0, 0],
            limit,
            axis="1 temperature, 2 log suction",
        )
    ]


def _run(section: Section, materials: dict[str, Material], x: Floats, y: Floats, hours: float) -> Bench:
    bench = Bench(section, materials, x, y, _weather, 12.0, 5e7, EXACT, equal_steps=True)
    bench.run_to(hours * HOUR)
    return bench


def mirror() -> list[Comparison]:
    """Symmetric section with liquid flow and gravity: the result equals its mirror image.

    Two moist soils, 0.6 by 0.4 m on 24 by 16 cells, weather on both flanks and a room above, 48 h in equal steps,
    solved to rounding.
    """
    regions = (Region("all", "left", 0, 0, 0.6, 0.4), Region("core", "right", 0.2, 0.1, 0.4, 0.3))
    edges = (
        Edge("left", "climate", climate="outdoors"),
        Edge("right", "climate", climate="outdoors"),
        Edge("top", "climate", climate="indoors"),
    )
    section = Section(0, 0, 0.6, 0.4, regions, edges=edges)
    x, y = np.linspace(0, 0.6, 25), np.linspace(0, 0.4, 17)
    bench = Bench(section, moist_soils(), x, y, _weather, 12.0, 2e4, EXACT, equal_steps=True)
    bench.run_to(48 * HOUR)
    fields = _fields(bench)
    return _largest("Symmetric section, mirrored", fields, fields[:, ::-1])


def turned() -> list[Comparison]:
    """Section without liquid flow, and the same section with x and y exchanged.

    Board and wool, heat and vapour, 30 by 20 cells, 48 h in equal steps, solved to rounding.
    """
    as_drawn = (Region("all", "board", 0, 0, 0.3, 0.2), Region("block", "wool", 0.1, 0.0, 0.2, 0.1))
    exchanged = tuple(Region(r.name, r.material, r.y0, r.x0, r.y1, r.x1) for r in as_drawn)
    sides: tuple[tuple[Side, Side, str], ...] = (
        ("left", "bottom", "outdoors"),
        ("right", "top", "indoors"),
        ("top", "right", "outdoors"),
    )
    upright = tuple(Edge(side, "climate", climate=c) for side, _, c in sides)
    flat = tuple(Edge(side, "climate", climate=c) for _, side, c in sides)
    x, y = np.linspace(0, 0.3, 31), np.linspace(0, 0.2, 21)
    one = _run(Section(0, 0, 0.3, 0.2, as_drawn, edges=upright), _dry_pair(), x, y, 48)
    other = _run(Section(0, 0, 0.2, 0.3, exchanged, edges=flat), _dry_pair(), y, x, 48)
    return _largest("Section turned", _fields(one), _fields(other).transpose(1, 0, 2))


def one_dimension_in_two() -> list[Comparison]:
    """A wall as a thin bar, as a lying sheet and as an upright sheet with many flank cells.

    Board and wool between two airs, heat and vapour, 45 cells across, uneven cells along; 48 h.
    """
    layers, lines = [("board", 0.1), ("wool", 0.05)], np.linspace(0, 0.15, 46)
    flank = np.array([0.0, 0.02, 0.05, 0.1])

    def weather(t: float, surface: Surface) -> Load:
        return air(20.0, 0.5, 8.0, 2e-8) if surface.climate == "right" else air(2.0, 0.8, 20.0, 8e-8)

    def run(across: Floats, *, upright: bool) -> Floats:
        section = bar(layers, upright=upright, depth=float(across[-1]))
        x, y = (across, lines) if upright else (lines, across)
        bench = Bench(section, _dry_pair(), x, y, weather, 12.0, 5e7, EXACT, equal_steps=True)
        bench.run_to(48 * HOUR)
        fields = _fields(bench)
        return fields.transpose(1, 0, 2) if upright else fields

    thin = run(np.array([0.0, 0.01]), upright=False)
    lying, upright = run(flank, upright=False), run(flank, upright=True)
    return [
        *_largest("One dimension in two, lying", lying, np.broadcast_to(thin[:1], lying.shape)),
        *_largest("One dimension in two, upright", upright, np.broadcast_to(thin[:1], upright.shape)),
    ]


def interface_of_one_material() -> list[Comparison]:
    """A section of one soil, and the same drawn as four regions of that soil.

    0.4 by 0.4 m on 16 by 16 cells, liquid flow with gravity, 24 h in equal steps.
    """
    edges = (Edge("left", "climate", climate="outdoors"), Edge("top", "climate", climate="indoors"))
    quarters = tuple(
        Region(f"{i}{j}", "left", 0.2 * i, 0.2 * j, 0.2 * i + 0.2, 0.2 * j + 0.2) for i in (0, 1) for j in (0, 1)
    )
    x = np.linspace(0, 0.4, 17)
    one, four = (
        Bench(
            Section(0, 0, 0.4, 0.4, regions, edges=edges),
            moist_soils(),
            x,
            x,
            _weather,
            12.0,
            2e4,
            EXACT,
            equal_steps=True,
        )
        for regions in ((Region("all", "left", 0, 0, 0.4, 0.4),), quarters)
    )
    for bench in (one, four):
        bench.run_to(24 * HOUR)
    return _largest("Interface within one material", _fields(one), _fields(four))


def equilibrium() -> list[Comparison]:
    """Two soils on an uneven mesh at hydrostatic rest, and two dry materials at one humidity: one year."""
    x, y = np.array([0, 0.1, 0.15, 0.3, 0.32, 0.5]), np.array([0, 0.03, 0.2, 0.5, 0.55, 0.9, 1.0])
    regions = (Region("a", "loam", 0, 0, 0.5, 1.0), Region("b", "sandy", 0.15, 0.2, 0.5, 0.55))
    soils = {"loam": loam(), "sandy": replace(moist_soils()["right"], vapour=loam().vapour)}

    def table(t: float, surface: Surface) -> Load:
        return {"air_temperature": 10.0, "film": HOLD_HEAT, **held_suction(0.0)}

    slow = Accuracy(longest_step=DAY)
    wet = Bench(
        Section(0, 0, 0.5, 1.0, regions, edges=(Edge("bottom", "climate", climate="table"),)),
        soils,
        x,
        y,
        table,
        10.0,
        lambda x, y: WEIGHT * y,
        slow,
    )
    dry = Bench(
        bar([("board", 0.1), ("wool", 0.05)]),
        _dry_pair(),
        np.linspace(0, 0.15, 16),
        [0, 0.1],
        lambda t, surface: air(18.0, 0.6, 8.0, 2e-8),
        18.0,
        1000 * 461.5 * 291.15 * -np.log(0.6),
        slow,
    )
    found = []
    for name, bench in (("Two soils at hydrostatic rest", wet), ("Two materials at one humidity", dry)):
        before = np.stack([bench.temperature, np.log(np.maximum(bench.suction, 1e-3))], axis=-1)
        bench.run_to(YEAR)
        after = np.stack([bench.temperature, np.log(np.maximum(bench.suction, 1e-3))], axis=-1)
        found += _largest(f"{name}, one year", before, after, 1e-9)
    return found


def conservation() -> list[Comparison]:
    """Two soils under weather: what the surfaces let in is what is stored, at the default accuracy.

    Imbalance after 30 days as a share of the sum of the amounts that went through the surfaces; beside it the
    imbalance by the state, which carries what the nonlinear iteration left.
    """
    regions = (Region("all", "left", 0, 0, 0.6, 0.4), Region("core", "right", 0.2, 0.1, 0.4, 0.3))
    edges = (
        Edge("left", "climate", climate="outdoors"),
        Edge("top", "climate", climate="indoors"),
    )
    bench = Bench(
        Section(0, 0, 0.6, 0.4, regions, edges=edges),
        moist_soils(),
        np.linspace(0, 0.6, 25),
        np.linspace(0, 0.4, 17),
        _weather,
        12.0,
        2e4,
    )
    start = bench.integrator.conserved.sum(axis=0)
    bench.run_to(30 * DAY)
    entered = bench.entered
    gap = bench.integrator.conserved.sum(axis=0) - start - [entered[:, 0].sum(), entered[:, 1:].sum()]
    share = gap / [np.abs(entered[:, 0]).sum(), np.abs(entered[:, 1:]).sum()]
    state = bench.closure()
    extra = {
        "energy of the state less that of the fluxes, share": float(state[0]),
        "water of the state less that of the fluxes, share": float(state[1]),
    }
    return [
        compare(
            "Balance over 30 days",
            "conservation",
            "imbalance of energy and water, share [-]",
            [1, 2],
            share,
            [0, 0],
            1e-8,
            axis="1 energy, 2 water",
            extra=extra,
        ),
    ]
