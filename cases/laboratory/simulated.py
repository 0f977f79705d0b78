"""The tests of a sheet, done again with the fitted material by the solver that runs every case.

Uptake: a half space whose face touches water. Cups: a layer between two humidities until nothing changes.
Drying: a wet layer, sealed but for its drying faces, in moving air, with the heat that evaporation takes.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from stemwall.cases.laboratory.evaluation import Evaluation
from stemwall.cases.laboratory.resampling import Floats, Mean
from stemwall.cases.laboratory.sheet import DryingTest
from stemwall.cases.verification.measured.uptake import ISOTHERMAL, marched_uptake
from stemwall.cases.verification.rig import Bench, Load, air, bar, held_temperature
from stemwall.materials.material import Material
from stemwall.materials.thermal import LinearConductivity
from stemwall.materials.water import (
    AIR_PERMEABILITY,
    VAPOUR_EXPONENT,
    ZERO_CELSIUS,
    saturation_pressure,
    suction_from_humidity,
)
from stemwall.solver.discretisation.network import Surface
from stemwall.solver.model.settings import Accuracy

THIN = 1e-3
#: of a specimen whose thickness nobody stated [m]
LAYER = 0.02
#: vapour film coefficient of a stirred face [s/m]; what it resists is taken off
STIRRED = 1e-6
#: least humidity of a face [-]: bone dry air has no suction
DRIEST = 1e-3
CUP_CELLS, DRY_CELLS = 120, 60
#: relative change of the flow through a cup from one tenfold time to the next that ends it
STEADY = 1e-4


@dataclass(frozen=True)
class Returned:
    """One test, as the sheet states it and as the simulated one returns it.

    Parameters
    ----------
    test : str
        What was tested.
    unit : str
    stated, simulated : float
    low, high : float
        Least and greatest of the specimens.
    """

    test: str
    unit: str
    stated: float
    simulated: float
    low: float
    high: float

    @property
    def difference(self) -> float:
        """Relative difference of the simulated value [-]."""
        return self.simulated / self.stated - 1.0


@dataclass(frozen=True)
class Dried:
    """A drying test beside its simulation.

    Parameters
    ----------
    name : str
    time : ndarray, shape (N,)
        Of the test [s].
    measured : tuple of ndarray, shape (N,)
        Water left per drying area of each specimen [kg/m2].
    along, simulated : ndarray, shape (M,)
        Times, those of the test among them, and water left in the simulation.
    """

    name: str
    time: Floats
    measured: tuple[Floats, ...]
    along: Floats
    simulated: Floats

    @property
    def apart(self) -> float:
        """Mean distance of the simulation from the mean of the specimens, as a share of the first content [-]."""
        mean = np.mean(self.measured, axis=0)
        at = np.interp(self.time, self.along, self.simulated)
        return float(np.abs(at - mean).mean() / mean[0])


def done_again(evaluation: Evaluation) -> Iterator[Returned]:
    """March uptake and cups with the fitted material, one after the other."""
    material = evaluation.material
    liquid, vapour = evaluation.liquid, evaluation.vapour
    if liquid is not None:
        test = liquid.tests[0]
        found = marched_uptake(material, liquid.stated.value, max(test.start, DRIEST), test.temperature)
        name = f"uptake from {test.start:.0%} RH at {test.temperature:.3g} °C"
        yield _returned(name, "kg/(m² s^0.5)", liquid.stated, found)
    if vapour is not None:
        for cup, values in zip(vapour.cups, vapour.values, strict=True):
            factors = AIR_PERMEABILITY / values
            mu = AIR_PERMEABILITY / marched_cup(material, cup.low, cup.high, cup.temperature)
            name = f"cup {cup.low:.0%} to {cup.high:.0%} RH at {cup.temperature:.3g} °C"
            mean = AIR_PERMEABILITY / float(values.mean())
            yield Returned(name, "µ", mean, mu, float(factors.min()), float(factors.max()))


def _returned(name: str, unit: str, stated: Mean, found: float) -> Returned:
    return Returned(name, unit, stated.value, found, min(stated.values), max(stated.values))


def marched_cup(material: Material, low: float, high: float, temperature: float, thickness: float = LAYER) -> float:
    """Permeability [kg/(m s Pa)], brought to 20 degC, that a layer between two humidities [-] shows when steady."""
    material = replace(material, conductivity=LinearConductivity(ISOTHERMAL))
    ends = {"left": max(low, DRIEST), "right": high}

    def load(t: float, surface: Surface) -> Load:
        return {**air(temperature, ends[surface.climate or ""], 0.0, STIRRED), **held_temperature(temperature)}

    suction = float(suction_from_humidity((ends["left"] + ends["right"]) / 2.0, temperature))
    bench = Bench(
        bar([("layer", thickness)], depth=THIN), {"layer": material}, np.linspace(0.0, thickness, CUP_CELLS + 1),
        [0.0, THIN], load, temperature, suction,
        Accuracy(temperature=0.05, humidity=1e-3, saturation=1e-3, longest_step=1e9),
    )  # fmt: skip
    fall = (ends["right"] - ends["left"]) * float(saturation_pressure(temperature))
    warmth = ((temperature + ZERO_CELSIUS) / (20.0 + ZERO_CELSIUS)) ** -VAPOUR_EXPONENT
    before, at, flow = 0.0, 1e6, 0.0
    while at <= 1e13:
        bench.run_to(at / 2.0)
        entered = abs(float(bench.entered[0, 1:].sum()))
        bench.run_to(at)
        flow = (abs(float(bench.entered[0, 1:].sum())) - entered) / THIN / (at / 2.0)
        if abs(flow - before) <= STEADY * flow:
            break
        before, at = flow, at * 4.0
    return thickness / (fall / flow - 2.0 / STIRRED) * float(warmth)


def dried(evaluation: Evaluation) -> Iterator[Dried]:
    """March the drying tests with the fitted material."""
    material = evaluation.material
    for number, test in enumerate(evaluation.sheet.drying, 1):
        start = material.storage.saturation
        if test.start is not None:
            start = test.start.content(material.density)
        measured = tuple(_water_left(test, series, start) for series in test.mass)
        time = np.array(test.time)
        name = f"drying {number}: {test.thickness * 1e3:.3g} mm at {test.temperature:.3g} °C, {test.humidity:.0%} RH"
        along = np.unique(np.concatenate([time, np.linspace(0.0, float(time.max()), 60)]))
        yield Dried(name, time, measured, along, marched_drying(material, test, start, along))


def _water_left(test: DryingTest, series: tuple[float, ...], start: float) -> Floats:
    """Water left per drying area [kg/m2]; masses of whole specimens are brought to what they hold at the start."""
    mass = np.array(series) / (test.area * test.faces)
    held = start * test.thickness / test.faces
    return mass if mass[0] <= 1.2 * held else mass - mass[0] + held


def marched_drying(material: Material, test: DryingTest, start: float, times: Floats) -> Floats:
    """Water left per drying area [kg/m2] at rising times [s], from a content [kg/m3]."""
    depth = test.thickness / test.faces  # two faces dry towards a plane of symmetry
    curve = material.storage
    suctions = np.concatenate([[0.0], np.geomspace(1.0, 1e9, 2000)])
    contents = curve.water(suctions)
    suction = float(np.interp(-min(start, float(contents[0])), -contents, suctions))

    def load(t: float, surface: Surface) -> Load:
        return air(test.temperature, test.humidity, test.heat_film, test.film)

    bench = Bench(
        bar([("layer", depth)], right=False, depth=THIN), {"layer": material},
        depth * (np.linspace(0.0, 1.0, DRY_CELLS + 1) ** 1.5), [0.0, THIN], load, test.temperature, suction,
        Accuracy(temperature=0.05, humidity=5e-3, saturation=5e-3, longest_step=86400.0),
    )  # fmt: skip
    left = []
    for time in times.tolist():
        if time > 0.0:
            bench.run_to(time)
        left.append(bench.water() / THIN)
    return np.array(left)
