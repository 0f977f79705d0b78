"""Transient heat conduction against closed forms: half space, wall and rectangle behind films."""

from __future__ import annotations

from itertools import product

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.verification.comparison import RELATIVE, Comparison, compare
from stemwall.cases.verification.references.series import PlaneWall, half_space_film, half_space_step
from stemwall.cases.verification.rig import Bench, bar, held_temperature
from stemwall.materials.reference import conductor
from stemwall.solver.model.section import Edge, Region, Section
from stemwall.solver.model.settings import Accuracy

HOUR, DAY = 3600.0, 86400.0
CONDUCTIVITY, CAPACITY = 1.5, 2.0e6
DIFFUSIVITY = CONDUCTIVITY / CAPACITY
CARSLAW = "Carslaw & Jaeger, Conduction of Heat in Solids, 1959"
SOLID = {"solid": conductor(CONDUCTIVITY, CAPACITY)}
#: depths for drawing [m]
DENSE = np.linspace(0.0, 2.0, 101)


def growing_lines(reach: float, first: float, growth: float) -> NDArray[np.float64]:
    """Mesh lines from 0 to reach [m], cells growing from about ``first`` by a ratio."""
    count = int(np.ceil(np.log(1 + reach * (growth - 1) / first) / np.log(growth)))
    lines = np.concatenate([[0.0], np.cumsum(first * growth ** np.arange(count))])
    return np.asarray(lines * (reach / lines[-1]))


def semi_infinite_step() -> list[Comparison]:
    """Surface of a solid at 10 degC held at -5 degC from t = 0.

    C dT/dt = lam d²T/dx², lam = 1.5 W/(m K), C = 2 MJ/(m³ K); T = -5 + 15 erf(x/(2 sqrt(a t))) °C.

    12 m long, closed at the far end; cells from 2 mm, growing by 3 %; wanted error 0.003 K, steps to 6 h.
    """
    reach, x = 12.0, np.array([0.05, 0.10, 0.25, 0.50, 1.00, 2.00])
    bench = Bench(
        bar([("solid", reach)], right=False),
        SOLID,
        growing_lines(reach, 0.002, 1.03),
        [0.0, 0.1],
        lambda t, surface: held_temperature(-5.0),
        temperature=10.0,
        accuracy=Accuracy(temperature=0.003, longest_step=6 * HOUR),
    )
    found = []
    source = f"{CARSLAW}, §2.5 (from memory); erfc evaluated here"
    for days in (1, 7, 30):
        t = days * DAY
        bench.run_to(t)
        name = f"Half space, surface step, {days} d"
        exact = 10.0 - 15.0 * half_space_step(x, DIFFUSIVITY * t)
        computed = bench.along_x(bench.temperature, x)
        curve = (DENSE, 10.0 - 15.0 * half_space_step(DENSE, DIFFUSIVITY * t))
        found.append(compare(name, source, "temperature [°C]", x, computed, exact, 0.01, curve=curve))
        heat = -2 * CONDUCTIVITY * 15.0 * np.sqrt(t / (np.pi * DIFFUSIVITY))
        entered = bench.entered[0, 0] / 0.1
        found.append(compare(name, source, "heat entered [J/m²]", 0.0, entered, heat, 2e-3, RELATIVE))
        flux = -CONDUCTIVITY * 15.0 / np.sqrt(np.pi * DIFFUSIVITY * t)
        flow = bench.heat_in[0] / 0.1
        found.append(compare(name, source, "surface flux [W/m²]", 0.0, flow, flux, 2e-3, RELATIVE))
    return found


def semi_infinite_film() -> list[Comparison]:
    """Solid at 10 degC whose surface meets air of -5 degC through a film from t = 0.

    As the step of the surface temperature, but -lam dT/dx = h (T_air - T) at x = 0 with h = 10 W/(m² K).
    """
    reach, x = 12.0, np.array([0.0, 0.05, 0.10, 0.25, 0.50, 1.00])
    bench = Bench(
        bar([("solid", reach)], right=False),
        SOLID,
        growing_lines(reach, 0.002, 1.03),
        [0.0, 0.1],
        lambda t, surface: {"air_temperature": -5.0, "film": 10.0},
        temperature=10.0,
        accuracy=Accuracy(temperature=0.003, longest_step=6 * HOUR),
    )
    found = []
    source = f"{CARSLAW}, §2.7 (from memory); evaluated here"
    for label, t in (("1 h", HOUR), ("1 d", DAY), ("7 d", 7 * DAY)):
        bench.run_to(t)
        exact = 10.0 - 15.0 * half_space_film(x, DIFFUSIVITY * t, 10.0 / CONDUCTIVITY)
        computed = bench.along_x(bench.temperature, x)
        curve = (DENSE, 10.0 - 15.0 * half_space_film(DENSE, DIFFUSIVITY * t, 10.0 / CONDUCTIVITY))
        name = f"Half space behind a film, {label}"
        found.append(compare(name, source, "temperature [°C]", x, computed, exact, 0.01, curve=curve))
    return found


def wall() -> list[Comparison]:
    """Wall of 0.2 m cooling behind equal films on both faces, lying and upright.

    C dT/dt = lam d²T/dx² from T = 1 with air at 0; Bi = h L/lam, Fo = a t/L², L half the thickness.  Series in
    the roots of mu tan(mu) = Bi.

    80 equal cells; wanted error 5e-6 of the start.  Fo = 0.1, 0.5, 1, 2.
    """
    half, share = 0.1, np.array([0.0, 0.5, 1.0])
    found = []
    for biot, upright in product((2 / 3, 1.0, 10.0), (False, True)):
        film = biot * CONDUCTIVITY / half
        lines = np.linspace(0.0, 2 * half, 81)
        flank = np.array([0.0, 0.1])
        x, y = (flank, lines) if upright else (lines, flank)
        load = {"air_temperature": 0.0, "film": film}
        bench = Bench(
            bar([("solid", 2 * half)], upright=upright),
            SOLID,
            x,
            y,
            lambda t, surface, load=load: load,  # type: ignore[misc]
            temperature=1.0,
            accuracy=Accuracy(temperature=5e-6),
        )
        series, across = PlaneWall(biot), bench.along_y if upright else bench.along_x
        for fourier in (0.1, 0.5, 1.0, 2.0):
            bench.run_to(fourier * half**2 / DIFFUSIVITY)
            computed = [*across(bench.temperature, half * (1 + share)), bench.mean(bench.temperature)]
            expected = [*series.at(share, fourier), series.mean(fourier)]
            way = "upright" if upright else "lying"
            name = f"Wall behind films, Bi = {biot:.3g}, Fo = {fourier:g}, {way}"
            found.append(
                compare(
                    name,
                    f"{CARSLAW}, §3.11; Heisler 1947 (from memory); series of 200 terms",
                    "(T - T_air) / (T_start - T_air) [-]",
                    [1, 2, 3, 4],
                    computed,
                    expected,
                    1e-3,
                    axis="1 centre, 2 quarter, 3 surface, 4 mean",
                )
            )
    return found


def box(width: float, height: float) -> Section:
    """Rectangle of ``solid`` whose four sides meet the climates of their names."""
    edges = tuple(Edge(side, "climate", climate=side) for side in ("left", "right", "bottom", "top"))
    return Section(0.0, 0.0, width, height, (Region("box", "solid", 0.0, 0.0, width, height),), edges=edges)


def rectangle_expected(biot: tuple[float, float], fourier: tuple[float, float]) -> list[float]:
    """Centre, middle of the face across x, corner, mean: product of two walls."""
    (a, fo_a), (b, fo_b) = ((PlaneWall(bi), fo) for bi, fo in zip(biot, fourier, strict=True))
    ends_a, ends_b = a.at([0.0, 1.0], fo_a), b.at([0.0, 1.0], fo_b)
    mean = a.mean(fo_a) * b.mean(fo_b)
    return [ends_a[0] * ends_b[0], ends_a[1] * ends_b[0], ends_a[1] * ends_b[1], mean]


def rectangle() -> list[Comparison]:
    """Bar of 0.2 m by 0.4 m cooling behind films on all faces, and the same turned.

    C dT/dt = lam (d²T/dx² + d²T/dy²) from 1 with air at 0 behind 10 W/(m² K); the product of two walls.

    40 by 40 equal cells; wanted error 5e-6 of the start; 1, 4, 12 and 24 h.
    """
    found = []
    size = (0.2, 0.4)
    for turned in (False, True):
        width, height = size[::-1] if turned else size
        bench = Bench(
            box(width, height),
            SOLID,
            np.linspace(0.0, width, 41),
            np.linspace(0.0, height, 41),
            lambda t, surface: {"air_temperature": 0.0, "film": 10.0},
            temperature=1.0,
            accuracy=Accuracy(temperature=5e-6),
        )
        for hours in (1, 4, 12, 24):
            bench.run_to(hours * HOUR)
            at = DIFFUSIVITY * hours * HOUR
            biot, fourier = (10 * 0.1 / 1.5, 10 * 0.2 / 1.5), (at / 0.1**2, at / 0.2**2)
            face = (width / 2, height) if turned else (width, height / 2)
            nodes = [bench.node_at(x, y) for x, y in ((width / 2, height / 2), face, (width, height))]
            computed = [*bench.temperature[nodes], bench.mean(bench.temperature)]
            found.append(
                compare(
                    f"Rectangle behind films, {hours} h{', turned' if turned else ''}",
                    f"{CARSLAW}, §5.6 (from memory); product of two series",
                    "(T - T_air) / (T_start - T_air) [-]",
                    [1, 2, 3, 4],
                    computed,
                    rectangle_expected(biot, fourier),
                    2e-3,
                    axis="1 centre, 2 long face, 3 corner, 4 mean",
                )
            )
    return found
