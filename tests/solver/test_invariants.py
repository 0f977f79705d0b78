"""Properties that hold for any section, material, membrane and weather (random sections)."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from stemwall.cases.verification.bench import Bench, Load, air
from stemwall.materials.reference import conductor, en15026, gardner_soil, two_layer_insulation
from stemwall.solver.network import Surface
from stemwall.solver.section import Edge, Membrane, Opening, Region, Section
from stemwall.solver.settings import Accuracy

MATERIALS = {
    "stone": en15026(), "foam": two_layer_insulation(), "soil": gardner_soil(), "plate": conductor(30.0, 2e6),
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
def weathers(draw: st.DrawFn) -> Callable[[float, Surface], Load]:
    """Outdoors with a wave, sun and rain; a steady room."""
    mean, swing = draw(st.floats(-15.0, 30.0)), draw(st.floats(0.0, 10.0))
    rain = draw(st.sampled_from([0.0, 1e-5, 1e-3]))
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


SLOWLY = settings(max_examples=15, suppress_health_check=[HealthCheck.too_slow], derandomize=True)


@SLOWLY
@given(sections(), weathers(), st.sampled_from([-2e3, 1e2, 1e5, 3e7, 1.5e8]))
def test_mass_and_energy_close_and_humidity_stays_physical(
    section: Section, load: Callable[[float, Surface], Load], start: float
) -> None:
    # an impermeable solid without pores is not filled with water under pressure
    assume(start > 0.0 or all(region.material != "plate" for region in section.regions))
    bench = _run(section, load, LINES_X, start)
    system, march = bench.system, bench.march
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
    np.testing.assert_allclose(one.temperature, two.temperature, atol=1e-8)
    np.testing.assert_allclose(one.humidity, two.humidity, atol=1e-9)
