"""Properties that hold for any section, material, membrane and weather (random sections)."""

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np
from hypothesis import HealthCheck, Phase, assume, given, settings
from hypothesis import strategies as st

from stemwall.cases.verification.moisture.vapour import isothermal
from stemwall.cases.verification.rig import Bench, Load, air
from stemwall.materials.material import Material
from stemwall.materials.reference import (
    conductor,
    en15026,
    gardner_soil,
    linear_vapour,
    two_layer_insulation,
)
from stemwall.materials.water import suction_from_humidity
from stemwall.solver.discretisation.network import Surface
from stemwall.solver.kernels.support import layout
from stemwall.solver.model.section import Edge, Membrane, Opening, Region, Section
from stemwall.solver.model.settings import Accuracy

MATERIALS = {
    "stone": en15026(), "foam": two_layer_insulation(), "soil": gardner_soil(), "plate": conductor(30.0, 2e6),
}  # fmt: skip
#: heat alone, from foam to metal, and vapour alone in the same places: isothermal, no liquid, any humidity linear
HEAT_ALONE = {
    "stone": conductor(1.5, 2e6), "foam": conductor(0.03, 3e4), "soil": conductor(2.0, 2.7e6),
    "plate": conductor(50.0, 3.5e6),
}  # fmt: skip
VAPOUR_ALONE = {
    "stone": isothermal(linear_vapour(2e-11, 50.0)), "foam": isothermal(linear_vapour(1e-10, 2.0)),
    "soil": isothermal(linear_vapour(5e-11, 90.0)), "plate": isothermal(linear_vapour(1e-14, 5.0)),
}  # fmt: skip
LINES_X, LINES_Y = np.linspace(0.0, 0.6, 7), np.linspace(0.0, 0.5, 6)


@st.composite
def sections(draw: st.DrawFn) -> Section:
    """A rectangle of one material with up to three others painted in, an opening and a membrane, on mesh lines."""
    names = st.sampled_from(sorted(MATERIALS))
    items: list[Region | Opening] = [Region("base", draw(names), 0.0, 0.0, 0.6, 0.5)]
    for number in range(draw(st.integers(0, 3))):
        x0, x1 = sorted(draw(st.lists(st.integers(0, 6), min_size=2, max_size=2, unique=True)))
        y0, y1 = sorted(draw(st.lists(st.integers(0, 5), min_size=2, max_size=2, unique=True)))
        items.append(Region(f"patch {number}", draw(names), *_at(x0, y0), *_at(x1, y1)))
    if draw(st.booleans()):
        items.append(Opening("hole", "room", *_at(2, 3), *_at(4, 5)))
    membranes = ()
    if draw(st.booleans()):
        x = draw(st.integers(1, 5))
        sd = draw(st.floats(0.01, 100.0))
        membranes = (Membrane("sheet", *_at(x, 0), *_at(x, draw(st.integers(1, 5))), sd, sd / 3.0),)
    sides = (Edge("left", "climate", climate="outdoors"), Edge("right", "climate", climate="room"))
    return Section(0.0, 0.0, 0.6, 0.5, tuple(items), membranes=membranes, edges=sides)


def _at(i: int, j: int) -> tuple[float, float]:
    return float(LINES_X[i]), float(LINES_Y[j])


@st.composite
def weathers(draw: st.DrawFn, rains: tuple[float, ...] = (0.0, 1e-5, 1e-3)) -> Callable[[float, Surface], Load]:
    """Outdoors with a wave, sun and one of the rains [kg/(m2 s)]; a steady room."""
    mean, swing = draw(st.floats(-15.0, 30.0)), draw(st.floats(0.0, 10.0))
    rain = draw(st.sampled_from(rains))
    humidity, room = draw(st.floats(0.3, 1.0)), draw(st.floats(0.2, 0.9))

    def load(t: float, surface: Surface) -> Load:
        if surface.climate == "room":
            return {**air(21.0, room, 8.0, 2e-8), "uptake": 1e-5}  # condensate that finds no pores runs off
        wave = float(np.sin(2 * np.pi * t / 86400.0))
        return {
            **air(mean + swing * wave, humidity, 15.0, 7e-8), "longwave": 250.0, "emissivity": 0.9,
            "sun": max(0.0, 200 * wave), "supply": rain, "uptake": 1e-5,
        }  # fmt: skip

    return load


def _run(section: Section, load: Callable[[float, Surface], Load], x: np.ndarray, start: float) -> Bench:
    bench = Bench(
        section, MATERIALS, x, LINES_Y, load, temperature=15.0, suction=start,
        accuracy=Accuracy(temperature=0.5, humidity=0.05, saturation=0.05),
    )  # fmt: skip
    for hour in range(1, 7):
        bench.run_to(hour * 3600.0)
    return bench


#: no shrinking: every example is a run
SLOWLY = settings(
    max_examples=15,
    suppress_health_check=[HealthCheck.too_slow],
    derandomize=True,
    phases=[Phase.explicit, Phase.generate],
)


@SLOWLY
@given(sections(), weathers(), st.sampled_from([-2e3, 1e2, 1e5, 3e7, 1.5e8]))
def test_mass_and_energy_close_and_humidity_stays_physical(
    section: Section, load: Callable[[float, Surface], Load], start: float
) -> None:
    # an impermeable solid without pores is not filled with water under pressure
    assume(start > 0.0 or all(region.material != "plate" for region in section.regions))
    bench = _run(section, load, LINES_X, start)
    system, march = bench.system, bench.integrator
    held = np.array([10.0 * system.capacity[:, 0].sum(), system.storage[:, 1].sum()])
    entered = np.array([march.through[:, 0].sum(), march.through[:, 1:3].sum()])
    begun = Bench(section, MATERIALS, LINES_X, LINES_Y, load, temperature=15.0, suction=start).system.storage
    closure = np.abs(system.storage.sum(axis=0) - begun.sum(axis=0) - entered) / held
    assert closure.max() < 1e-7
    assert np.all(bench.humidity > 0.0)
    # saturation is exceeded only by water under pressure: 2.5 MPa is 1.02
    assert np.all(bench.humidity < 1.02)


@SLOWLY
@given(sections(), weathers())
def test_a_mirrored_section_mirrors_the_result(section: Section, load: Callable[[float, Surface], Load]) -> None:
    def flip(x: float) -> float:
        return 0.6 - x

    mirrored = replace(
        section,
        items=tuple(replace(item, x0=flip(item.x1), x1=flip(item.x0)) for item in section.items),
        membranes=tuple(replace(m, x0=flip(m.x0), x1=flip(m.x1)) for m in section.membranes),
        edges=(Edge("right", "climate", climate="outdoors"), Edge("left", "climate", climate="room")),
    )
    one = _run(section, load, LINES_X, 1e6)
    other = _run(mirrored, load, 0.6 - LINES_X[::-1], 1e6)
    order = np.lexsort((one.temperature.round(9), one.network.node_y.round(9), one.network.node_x.round(9)))
    flipped = (0.6 - other.network.node_x).round(9)
    back = np.lexsort((other.temperature.round(9), other.network.node_y.round(9), flipped))
    # both carry the solver's tolerance: a fiftieth of the wanted errors at each step
    assert np.max(np.abs(one.temperature[order] - other.temperature[back])) < 0.02
    assert np.max(np.abs(one.humidity[order] - other.humidity[back])) < 0.002


@SLOWLY
@given(sections(), weathers())
def test_splitting_a_region_in_two_changes_nothing(section: Section, load: Callable[[float, Surface], Load]) -> None:
    base = section.items[0]
    assert isinstance(base, Region)
    halves = (replace(base, name="left half", x1=0.3), replace(base, name="right half", x0=0.3))
    split = replace(section, items=(*halves, *section.items[1:]))
    one, two = _run(section, load, LINES_X, 1e6), _run(split, load, LINES_X, 1e6)
    # both carry the solver's tolerance: the linear solver's short numbers turn round-off into parts of it
    assert np.max(np.abs(one.temperature - two.temperature)) < 0.02
    assert np.max(np.abs(one.humidity - two.humidity)) < 0.002
    state, rate, nothing = one.integrator.state, 1.0 / 3600.0, np.zeros((one.network.nodes, 2))
    for bench in (one, two):
        bench.system.evaluate(state)
        bench.system.assemble(state, rate, nothing, bench.integrator.loads.at(21600.0, 20000.0), jacobian=True)
    for name in ("storage", "residual", "values"):
        first, second = getattr(one.system, name), getattr(two.system, name)
        np.testing.assert_allclose(first, second, rtol=1e-12, atol=1e-14 * np.abs(first).max(), err_msg=name)


@st.composite
def shares(draw: st.DrawFn) -> np.ndarray:
    """Seven hourly values between 0 and 1, the ends included now and then."""
    share = st.one_of(st.sampled_from([0.0, 1.0]), st.floats(0.0, 1.0))
    return np.array(draw(st.lists(share, min_size=7, max_size=7)))


def _joined(values: np.ndarray, t: float) -> float:
    """The value at a time [s], straight between the hours as the loads of a run are."""
    return float(np.interp(t / 3600.0, np.arange(values.size), values))


@SLOWLY
@given(sections(), shares(), st.sampled_from([8.0, 25.0, 1e4]), st.floats(-15.0, 30.0))
def test_heat_alone_keeps_within_its_extremes(section: Section, share: np.ndarray, film: float, start: float) -> None:
    outdoors = -15.0 + 45.0 * share

    def load(t: float, surface: Surface) -> Load:
        if surface.climate == "room":
            return {"air_temperature": 21.0, "film": 8.0}
        return {"air_temperature": _joined(outdoors, t), "film": film}

    bench = Bench(section, HEAT_ALONE, LINES_X, LINES_Y, load, temperature=start)
    for half in range(1, 13):
        bench.run_to(half * 1800.0)
        known = [start, 21.0, *outdoors[: (half + 1) // 2 + 1]]
        assert bench.temperature.max() <= max(known) + 1e-9
        assert bench.temperature.min() >= min(known) - 1e-9


@SLOWLY
@given(sections(), shares(), st.sampled_from([2e-8, 1e-7, 1e-6]), st.floats(0.2, 0.98))
def test_vapour_alone_keeps_within_its_extremes_but_for_the_error_of_a_step(
    section: Section, share: np.ndarray, film: float, start: float
) -> None:
    """A second-order step may pass the extremes by what it may be wrong."""
    outdoors, wanted = 0.2 + 0.78 * share, 0.002

    def load(t: float, surface: Surface) -> Load:
        return air(20.0, 0.5 if surface.climate == "room" else _joined(outdoors, t), 0.0, film)

    bench = Bench(
        section, VAPOUR_ALONE, LINES_X, LINES_Y, load, suction=float(suction_from_humidity(start)),
        accuracy=Accuracy(humidity=wanted, saturation=wanted),
    )  # fmt: skip
    for half in range(1, 13):
        bench.run_to(half * 1800.0)
        known = [start, 0.5, *outdoors[: (half + 1) // 2 + 1]]
        assert bench.humidity.max() <= max(known) + wanted
        assert bench.humidity.min() >= min(known) - wanted


@SLOWLY
@given(sections(), st.floats(-10.0, 35.0), st.floats(0.05, 0.95))
def test_equilibrium_stays_to_round_off(section: Section, temperature: float, humidity: float) -> None:
    """One temperature and one suction in all materials (liquid still, so that gravity has no say), airs to match."""
    dry: dict[str, Material] = {key: replace(m, liquid=two_layer_insulation().liquid) for key, m in MATERIALS.items()}
    kelvin, suction = temperature + 273.15, float(suction_from_humidity(humidity))
    around: dict[str, float] = {
        "air_temperature": temperature, "film": 12.0, "vapour_film": 5e-8,
        "longwave": 0.9 * layout.SIGMA * kelvin**4, "emissivity": 0.9,
    }  # fmt: skip
    bench = Bench(section, dry, LINES_X, LINES_Y, lambda t, s: around, temperature=temperature, suction=suction)
    pressure = bench.system.node_state[:, layout.PV].copy()
    np.testing.assert_allclose(pressure, pressure[0], rtol=1e-14)
    around["air_vapour_pressure"] = pressure[0]
    before = bench.humidity.copy()
    bench.run_to(30 * 86400.0)
    np.testing.assert_allclose(bench.temperature, temperature, rtol=0, atol=1e-9)
    # humidity, not suction, is what errors are bounded in: dry, 1e-9 of it is half a pascal
    np.testing.assert_allclose(bench.humidity, before, rtol=0, atol=1e-9)


#: wanted errors of a step while the mesh is refined: smaller changes say nothing about the mesh
TIME_ERROR = {"temperature": 0.005, "humidity": 5e-4}


@settings(SLOWLY, max_examples=8)
@given(sections(), weathers(rains=(0.0,)))
def test_refining_converges(section: Section, load: Callable[[float, Surface], Load]) -> None:
    """Errors at the places of the coarsest mesh, against one eight times as fine, fall from mesh to mesh.

    Without rain: six hours of it make a front thinner than the cells of all but the finest mesh.
    """
    fields = {count: _on_coarse_cells(_refined(section, load, count), count) for count in (1, 2, 4, 8)}
    for variable, floor in TIME_ERROR.items():
        coarse, middle, fine = (
            float(np.sqrt(np.mean((fields[count][variable] - fields[8][variable]) ** 2))) for count in (1, 2, 4)
        )
        assert middle < coarse + floor, variable
        assert fine < middle + floor, variable
        assert fine < 0.8 * coarse + floor, variable


def _refined(section: Section, load: Callable[[float, Surface], Load], count: int) -> Bench:
    """Six hours on the mesh with every cell cut ``count`` times each way."""
    x, y = (
        np.interp(np.arange((lines.size - 1) * count + 1) / count, np.arange(lines.size), lines)
        for lines in (LINES_X, LINES_Y)
    )
    bench = Bench(
        section, MATERIALS, x, y, load, temperature=15.0, suction=1e6,
        accuracy=Accuracy(temperature=TIME_ERROR["temperature"], humidity=TIME_ERROR["humidity"], saturation=5e-4),
    )  # fmt: skip
    bench.run_to(6 * 3600.0)
    return bench


def _on_coarse_cells(bench: Bench, count: int) -> Mapping[str, np.ndarray]:
    """Values at the four corners of each cell of the coarsest mesh, openings left out."""
    corner, last = bench.network.corner_node, count - 1
    nodes = np.stack(
        [
            corner[::count, ::count, 0], corner[::count, last::count, 1],
            corner[last::count, last::count, 2], corner[last::count, ::count, 3],
        ], axis=-1,
    )  # fmt: skip
    nodes = nodes[nodes >= 0]
    return {"temperature": bench.temperature[nodes], "humidity": bench.humidity[nodes]}
