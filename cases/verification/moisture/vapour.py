"""Isothermal moisture diffusion against series: slab with films, rectangle, benchmark 2 of HAMSTAD."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from stemwall.cases.verification.comparison import RELATIVE, Comparison, compare
from stemwall.cases.verification.conduction.transient import HOUR, box, rectangle_expected
from stemwall.cases.verification.references.series import PlaneWall, layer_between, layer_between_mean
from stemwall.cases.verification.rig import Bench, Load, air, bar
from stemwall.materials.material import Material
from stemwall.materials.reference import hamstad2, linear_vapour
from stemwall.materials.water import saturation_pressure, suction_from_humidity
from stemwall.solver.discretisation.network import Surface
from stemwall.solver.model.settings import Accuracy

CRANK = "Crank, The Mathematics of Diffusion, 1975 (from memory); series evaluated here"
HAMSTAD = (
    "Hagentoft et al. 2004, J. Thermal Env. & Bldg. Sci. 27(4), benchmark 2 (definition from memory, "
    "to be checked); Fourier series of 4000 terms evaluated here"
)
PERMEABILITY, SATURATION, BETA = 2e-11, 50.0, 2e-8
START, AMBIENT = 0.80, 0.50
#: of linear vapour diffusion at 20 degC [m2/s]
DIFFUSIVITY = PERMEABILITY * float(saturation_pressure(20.0)) / SATURATION


def isothermal(material: Material) -> Material:
    """The material with so much heat capacity that evaporation cannot cool it."""
    return replace(material, density=1e9)


def _start_suction(humidity: float) -> float:
    return float(suction_from_humidity(humidity))


def linear_diffusion() -> list[Comparison]:
    """Slab of 0.1 m at 80 % between films and air of 50 %, 20 degC.

    w = 50 phi kg/m³, vapour permeability 2e-11 kg/(m s Pa), films 2e-8 s/m: linear diffusion, the series of the
    wall behind films with Bi = 50.

    160 equal cells; wanted error 1e-5.  So much heat capacity that evaporation does not cool.
    """
    thickness, film = 0.1, BETA
    bench = Bench(
        bar([("solid", thickness)]),
        {"solid": isothermal(linear_vapour(PERMEABILITY, SATURATION))},
        np.linspace(0.0, thickness, 161),
        [0.0, 0.1],
        lambda t, surface: air(20.0, AMBIENT, 0.0, film),
        suction=_start_suction(START),
        accuracy=Accuracy(humidity=1e-5, saturation=1e-5),
    )
    series = PlaneWall(film * thickness / 2 / PERMEABILITY)
    found = []
    for fourier in (0.05, 0.1, 0.2, 0.5, 1.0):
        bench.run_to(fourier * (thickness / 2) ** 2 / DIFFUSIVITY)
        share = [*series.at([0.0, 0.5, 1.0], fourier), series.mean(fourier)]
        place = thickness * np.array([0.5, 0.75, 1.0])
        computed = [*bench.along_x(bench.humidity, place), bench.mean(bench.node_water()) / SATURATION]
        name = f"Linear vapour diffusion with films, Fo = {fourier:g}"
        found.append(
            compare(
                name,
                CRANK,
                "relative humidity [-]",
                [1, 2, 3, 4],
                computed,
                AMBIENT + (START - AMBIENT) * np.array(share),
                5e-4,
                axis="1 centre, 2 quarter, 3 surface, 4 mean",
            )
        )
    found.append(
        compare(
            "Linear vapour diffusion with films, balance",
            "conservation",
            "water imbalance, share of what left [-]",
            0.0,
            bench.closure()[1],
            0.0,
            1e-9,
        )
    )
    return found


def vapour_rectangle() -> list[Comparison]:
    """The cooling rectangle posed as linear vapour diffusion, with the same Biot and Fourier numbers.

    0.2 by 0.4 m, 40 by 40 cells, Bi = 2/3 across the shorter side; wanted error 1e-6.
    """
    width, height, biot = 0.2, 0.4, 2 / 3
    found = []
    film = biot * PERMEABILITY / 0.1
    bench = Bench(
        box(width, height),
        {"solid": isothermal(linear_vapour(PERMEABILITY, SATURATION))},
        np.linspace(0.0, width, 41),
        np.linspace(0.0, height, 41),
        lambda t, surface: air(20.0, AMBIENT, 0.0, film),
        suction=_start_suction(START),
        accuracy=Accuracy(humidity=1e-6, saturation=1e-6, longest_step=1e9),
    )
    for fourier in (0.27, 1.08, 3.24, 6.48):
        bench.run_to(fourier * 0.1**2 / DIFFUSIVITY)
        nodes = [bench.node_at(x, y) for x, y in ((0.1, 0.2), (0.2, 0.2), (0.2, 0.4))]
        humidity = [*bench.humidity[nodes], bench.mean(bench.node_water()) / SATURATION]
        found.append(
            compare(
                f"Rectangle of vapour behind films, Fo = {fourier:g}",
                CRANK,
                "(phi - phi_air) / (phi_start - phi_air) [-]",
                [1, 2, 3, 4],
                (np.array(humidity) - AMBIENT) / (START - AMBIENT),
                rectangle_expected((biot, 2 * biot), (fourier, fourier / 4)),
                2e-3,
                axis="1 centre, 2 long face, 3 corner, 4 mean",
            )
        )
    return found


def _drying_load(t: float, surface: Surface) -> Load:
    return air(20.0, 0.45 if surface.climate == "left" else 0.65, 25.0, 1e-3)


def _drying_bench(material: Material, cell: float) -> Bench:
    return Bench(
        bar([("layer", 0.2)]),
        {"layer": material},
        np.linspace(0.0, 0.2, round(0.2 / cell) + 1),
        [0.0, 0.1],
        _drying_load,
        suction=_start_suction(0.95),
        accuracy=Accuracy(temperature=0.01, humidity=1e-4, saturation=1e-4, longest_step=10 * HOUR),
    )


def isothermal_drying() -> list[Comparison]:
    """HAMSTAD benchmark 2: a layer of 0.2 m drying to 45 % and 65 %.

    Isothermal at 20 degC from 95 %; w = 116 (1 - ln(phi)/0.118)^-0.869 kg/m³; moisture diffusivity 6e-10 m²/s in
    grad w, vapour permeability 1e-15 s; films 25 W/(m² K) and 1e-3 s/m.  With a constant diffusivity and surfaces
    that soon reach the air's humidity the profile is a Fourier series.

    2 mm cells and 0.5 mm cells; 100, 300 and 1000 h.
    """
    x = np.array([5, 10, 20, 30, 40, 50, 60, 80, 100, 120, 140, 160, 170, 180, 190]) / 1000
    start, left, right = hamstad2().water_content(suction_from_humidity([0.95, 0.45, 0.65]))
    benches = (
        (_drying_bench(isothermal(hamstad2()), 0.002), "2 mm cells", 0.3),
        (_drying_bench(isothermal(hamstad2()), 0.0005), "0.5 mm cells", 0.05),
    )
    coupled = _drying_bench(hamstad2(), 0.0005)
    found = []
    for hours in (100, 300, 1000):
        at = 6e-10 * hours * HOUR
        expected = layer_between(x, at, 0.2, start, left, right)
        coupled.run_to(hours * HOUR)
        for bench, label, limit in benches:
            bench.run_to(hours * HOUR)
            water = bench.along_x(bench.node_water(), x)
            cooled = float(np.abs(coupled.along_x(coupled.node_water(), x) - water).max())
            extra = {"change if evaporation cools the layer [kg/m³]": cooled} if limit < 0.1 else None
            name = f"Isothermal drying, {label}, {hours} h"
            found.append(compare(name, HAMSTAD, "water [kg/m³]", x, water, expected, limit, extra=extra))
            total = 0.2 * layer_between_mean(at, 0.2, start, left, right)
            found.append(compare(name, HAMSTAD, "total [kg/m²]", 0.0, bench.water() / 0.1, total, 1e-3, RELATIVE))
    return found
