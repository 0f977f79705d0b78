"""Uptake of water: the benchmark of EN 15026 Annex A, and capillary suction of a brick-like material."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.verification.comparison import RELATIVE, Comparison, compare
from stemwall.cases.verification.conduction.transient import DAY, HOUR, growing_lines
from stemwall.cases.verification.references.similarity import (
    STANDARD,
    WITHOUT_WATER,
    CoupledUptake,
    ExponentialUptake,
    kelvin_suction,
)
from stemwall.cases.verification.rig import Bench, Load, bar, held_suction
from stemwall.materials.material import Material
from stemwall.materials.reference import en15026
from stemwall.materials.storage import FunctionRetention, Storage
from stemwall.materials.thermal import LinearConductivity
from stemwall.materials.vapour import ConstantVapour
from stemwall.solver.discretisation.network import Surface
from stemwall.solver.forcing.boundary_conditions import HOLD_HEAT
from stemwall.solver.model.settings import Accuracy

Floats = NDArray[np.float64]
EN15026 = (
    "EN 15026:2007 Annex A (definition from memory, to be checked); similarity equations solved here "
    "with enthalpy conserved"
)
#: depth of the lying bars [m], so that gravity across them is of no account
THIN = 1e-3
SURFACE, START = (30.0, 0.95), (20.0, 0.50)


def standard_uptake() -> list[Comparison]:
    """EN 15026 Annex A: half space at 20 degC, 50 %; surface held at 30 degC, 95 %.

    Heat, vapour and liquid coupled; w = 146 (1 + (8e-8 p_c)^1.6)^-0.375 kg/m³, ln K a polynomial of w, vapour
    permeability falling with filling, lam = 1.5 + 15.8e-3 w, 1.824 MJ/(m³ K).  Temperature and water are functions
    of x/sqrt(t) alone, from ordinary differential equations that are integrated here with enthalpy conserved.

    60 m; cells from 1 mm, growing by 2.5 %; wanted errors 0.002 K, 5e-4; 7, 30 and 365 d.
    """
    x_water = np.array([5, 10, 15, 20, 25, 30, 40, 50, 60, 80, 100, 120, 150]) / 1000
    x_heat = np.array([0.05, 0.10, 0.25, 0.50, 1.0, 1.5, 2.0, 3.0, 5.0, 10.0])
    reference = CoupledUptake(en15026(), SURFACE, START)
    held = {
        "air_temperature": SURFACE[0],
        "film": HOLD_HEAT,
        **held_suction(kelvin_suction(SURFACE[1], SURFACE[0])),
    }
    bench = Bench(
        bar([("half space", 60.0)], right=False, depth=THIN),
        {"half space": en15026()},
        growing_lines(60.0, 0.001, 1.025),
        [0.0, THIN],
        lambda t, surface: held,
        temperature=START[0],
        suction=kelvin_suction(START[1], START[0]),
        accuracy=Accuracy(temperature=0.002, humidity=5e-4, saturation=5e-4, longest_step=DAY),
    )
    forms = _forms_of_the_energy_equation(reference)
    found = []
    for days in (7, 30, 365):
        t = days * DAY
        bench.run_to(t)
        name = f"Uptake with heating, {days} d"
        water = bench.along_x(bench.node_water(), x_water)
        temperature = bench.along_x(bench.temperature, x_heat)
        exact_water, exact_heat = reference.at(x_water / np.sqrt(t))[1], reference.at(x_heat / np.sqrt(t))[0]
        taken_up = bench.entered[0, 1:].sum() / THIN
        total = reference.uptake * np.sqrt(t)
        found += [
            compare(name, EN15026, "water [kg/m³]", x_water, water, exact_water, 1.0),
            compare(name, EN15026, "temperature [°C]", x_heat, temperature, exact_heat, 0.02, extra=forms),
            compare(name, EN15026, "taken up [kg/m²]", 0.0, taken_up, total, 0.025, RELATIVE),
        ]
    return found


def _forms_of_the_energy_equation(reference: CoupledUptake) -> dict[str, float]:
    """How far other energy equations would move the temperature [K]."""
    eta = np.concatenate([np.geomspace(1e-6, 1e-4, 41), np.linspace(2e-4, 5e-3, 49)])
    return {
        f"change of temperature with {words} [K]": float(
            np.abs(CoupledUptake(en15026(), SURFACE, START, form).at(eta)[0] - reference.at(eta)[0]).max()
        )
        for form, words in (
            (STANDARD, "the standard's equation (c_w w a heat capacity, no liquid enthalpy moved)"),
            (WITHOUT_WATER, "no heat capacity of water"),
        )
    }


@dataclass(frozen=True)
class ExponentialDiffusivity:
    """K = D0 exp(n theta_r) |dw/dp_c|, theta_r the share of the saturated water content.

    Parameters
    ----------
    dry : float
        D0 [m2/s].
    exponent : float
        n [-].
    """

    dry: float
    exponent: float

    def conductivity(self, suction: Floats, storage: Storage) -> Floats:
        """K [s] at suctions [Pa]."""
        positive = np.maximum(suction, 0.0)
        share = storage.curve.content(positive) / storage.saturation
        return np.asarray(self.dry * np.exp(self.exponent * share) * storage.curve.capacity(positive))


def brick_like(saturation: float = 250.0, scale: float = 1e4) -> Material:
    """Material of the capillary case: w = saturation exp(-p_c / scale), exponential diffusivity."""
    return Material(
        id="brick_like",
        name="Exponential diffusivity",
        group="reference",
        density=1800.0,
        specific_heat=850.0,
        storage=Storage(FunctionRetention(lambda p_c: saturation * np.exp(-p_c / scale)), 1e-12),
        liquid=ExponentialDiffusivity(1e-9, 7.5),
        vapour=ConstantVapour(0.0),
        conductivity=LinearConductivity(0.6),
        viscous=False,
        vapour_exponent=0.0,
    )


def capillary_uptake() -> list[Comparison]:
    """Horizontal uptake into a dry material whose surface is saturated.

    d theta/dt = d/dx(D d theta/dx), D = 1e-9 exp(7.5 theta_r) m²/s, saturation 250 kg/m³: theta is a function of
    x/sqrt(t) alone, from an ordinary differential equation that is integrated here.

    0.4 m; cells from 0.5 mm, growing by 0.4 %; steps to 10 min, the first moments resolved to 0.1 s.
    """
    start, reach = 1e-4, 0.4
    reference = ExponentialUptake(7.5, start)
    saturation, peak = 250.0, 1e-9 * np.exp(7.5)
    source = (
        "Similarity equation of Philip 1957 for D = D0 exp(n theta_r), integrated here; "
        "n after Hall & Hoff (from memory)"
    )

    def load(t: float, surface: Surface) -> Load:
        return {"air_temperature": 20.0, "film": HOLD_HEAT, **held_suction(0.0, 1e-3)}

    bench = Bench(
        bar([("brick", reach)], right=False, depth=THIN),
        {"brick": brick_like()},
        growing_lines(reach, 0.0005, 1.004),
        [0.0, THIN],
        load,
        suction=-1e4 * np.log(start),
        accuracy=Accuracy(temperature=0.01, humidity=1e-3, saturation=1e-3, longest_step=600.0, resolved=0.1),
    )
    x = np.array([0.01, 0.02, 0.03, 0.04, 0.05, 0.06, 0.07, 0.08, 0.10])
    times, taken_up = np.array([1.0, 4.0, 9.0, 16.0, 24.0]) * HOUR, []
    profile = np.zeros(0)
    for t in times:
        bench.run_to(t)
        taken_up.append(bench.entered[0, 2] / THIN)
        if t == 4 * HOUR:
            profile = bench.along_x(bench.node_water(), x) / 1000
    slope = saturation * reference.sorptivity * np.sqrt(peak)
    rate = np.array(taken_up) / np.sqrt(times)
    exact = 0.25 * reference.at(x / np.sqrt(peak * 4 * HOUR))
    name, axis = "Capillary uptake, exponential diffusivity", "time [s]"
    return [
        compare(
            name,
            source,
            "taken up [kg/m²]",
            times,
            taken_up,
            slope * np.sqrt(times),
            5e-3,
            RELATIVE,
            axis=axis,
        ),
        compare(
            name,
            "straight line in sqrt(t)",
            "taken up over sqrt(t) [kg/(m² s^0.5)]",
            times,
            rate,
            np.full(times.size, rate.mean()),
            2e-3,
            RELATIVE,
            axis=axis,
        ),
        compare(f"{name}, 4 h", source, "water [m³/m³]", x, profile, exact, 3e-3),
    ]
