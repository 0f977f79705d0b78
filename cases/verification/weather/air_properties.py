"""Moist air and water: saturation, dew point, vapour density, suction, latent heat, against other formulations.

Two references are Python libraries that are no part of the run-time requirements
(``pip install stemwall[test]``); without them their cases are not run, and the page says so.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.verification.comparison import RELATIVE, Comparison, NotRun, compare
from stemwall.cases.verification.rig import Bench, bar
from stemwall.materials import water
from stemwall.materials.reference import en15026
from stemwall.solver.kernels.support import layout
from stemwall.weather import moistair

Floats = NDArray[np.float64]
KELVIN, ATMOSPHERE = 273.15, 101_325.0
EQUILIBRIUM = "Kelvin 1871, CODATA 2018 constants"
#: [degC]; the triple point apart, where the libraries change from ice to water
COLD, WARM = np.linspace(-20.0, -0.5, 14), np.linspace(0.5, 40.0, 14)
AIR = np.concatenate([COLD, WARM])
MURPHY = (
    "Murphy & Koop 2005, Q. J. R. Meteorol. Soc. 131, 1539-1565 (equations from memory; within 0.03 % of IAPWS here)"
)
HYLAND = "Hyland & Wexler 1983, ASHRAE Handbook Fundamentals; Python library psychrolib"
IF97 = "IAPWS-IF97 (2007) for water; Python library iapws"
ICE = "IAPWS R14-08 (2011), sublimation curve; Python library iapws"
WIDE = "0.2 % above freezing, 0.6 % below: what the equation of ISO 13788 differs from newer formulations by"
PRESSURE, DEGREES = "saturation pressure [Pa]", "temperature [°C]"


def library(name: str) -> Any:
    """A library that need not be there.

    Raises
    ------
    NotRun
        If it is not.
    """
    try:
        return import_module(name)
    except ModuleNotFoundError as error:
        raise NotRun(f"the Python library {name} is not installed (pip install stemwall[test])") from error


def over_water(t: Floats) -> Floats:
    """Saturation pressure over water, supercooled too [Pa], Murphy & Koop 2005, eq. 10; t [degC]."""
    k = t + KELVIN
    warm = 54.842763 - 6763.22 / k - 4.210 * np.log(k) + 0.000367 * k
    return np.asarray(
        np.exp(warm + np.tanh(0.0415 * (k - 218.8)) * (53.878 - 1331.22 / k - 9.44523 * np.log(k) + 0.014025 * k))
    )


def over_ice(t: Floats) -> Floats:
    """Saturation pressure over ice [Pa], Murphy & Koop 2005, eq. 7; t [degC]."""
    k = t + KELVIN
    return np.asarray(np.exp(9.550426 - 5723.265 / k + 3.53068 * np.log(k) - 0.00728332 * k))


def saturation() -> list[Comparison]:
    """Saturation pressure over water and ice, -20 to 40 °C, and the dew point as its inverse.

    The package uses the two exponentials of ISO 13788, Annex E, in the weather room and in the materials room.
    Weather stations state humidity over supercooled water below freezing; that curve is a third.
    """
    found = []
    outside = "the equation for water, used below the 0 °C that it is given for"
    for name, at, computed, reference, limit, note in (
        ("water, 0.5 to 40 °C", WARM, moistair.saturation_pressure(WARM), over_water, 2e-3, WIDE),
        ("ice, -20 to -0.5 °C", COLD, moistair.saturation_pressure(COLD), over_ice, 6e-3, WIDE),
        ("supercooled water", COLD, moistair.saturation_pressure_over_water(COLD), over_water, 1e-2, outside),
    ):
        fine = np.linspace(at[0], at[-1], 80)
        found.append(
            compare(name, MURPHY, PRESSURE, at, computed, reference(at), limit, RELATIVE, axis=DEGREES,
                    curve=(fine, reference(fine)), note=note)
        )  # fmt: skip
    both = moistair.saturation_pressure(AIR)
    return [
        *found,
        compare("materials against weather", "the same equation, coded twice", PRESSURE, AIR,
                water.saturation_pressure(AIR), both, 1e-14, RELATIVE, axis=DEGREES),
        compare("there and back", "inverse function", "dew point of saturated air [°C]", AIR,
                moistair.dew_point(both), AIR, 1e-11, axis=DEGREES),
    ]  # fmt: skip


def psychrometrics() -> list[Comparison]:
    """Saturation, dew point, vapour density and air density against a library of psychrometrics.

    Air of 20, 50 and 80 % at -20 to 40 °C and 101325 Pa.  Dew point: the limit is the difference of the two
    saturation curves over their slope.  Vapour density is p/(R_v T) here and humidity ratio by volume there.
    """
    other = library("psychrolib")
    other.SetUnitSystem(other.SI)
    found = [
        compare("over water and ice", HYLAND, PRESSURE, AIR, moistair.saturation_pressure(AIR),
                [other.GetSatVapPres(float(t)) for t in AIR], 6e-3, RELATIVE, axis=DEGREES, note=WIDE)
    ]  # fmt: skip
    for rh in (0.2, 0.5, 0.8):
        pressure = moistair.vapour_pressure(AIR, rh)
        dew = [other.GetTDewPointFromRelHum(float(t), rh) for t in AIR]
        ratio = [other.GetHumRatioFromRelHum(float(t), rh, ATMOSPHERE) for t in AIR]
        density = [w / other.GetMoistAirVolume(float(t), w, ATMOSPHERE) for t, w in zip(AIR, ratio, strict=True)]
        found += [
            compare(f"{rh:.0%}", HYLAND, "dew or frost point [°C]", AIR, moistair.dew_point(pressure), dew, 0.12,
                    axis=DEGREES),
            compare(f"{rh:.0%}", HYLAND, "vapour density [kg/m³]", AIR,
                    pressure / (moistair.VAPOUR_GAS_CONSTANT * (AIR + KELVIN)), density, 6e-3, RELATIVE,
                    axis=DEGREES),
            compare(f"{rh:.0%}", HYLAND, "humidity ratio [kg/kg]", AIR,
                    moistair.AIR_GAS_CONSTANT / moistair.VAPOUR_GAS_CONSTANT * pressure / (ATMOSPHERE - pressure),
                    ratio, 7e-3, RELATIVE, axis=DEGREES),
        ]  # fmt: skip
    dry = [other.GetDryAirDensity(float(t), ATMOSPHERE) for t in AIR]
    found.append(
        compare("dry air", HYLAND, "density [kg/m³]", AIR, moistair.air_density(AIR), dry, 1e-4, RELATIVE,
                axis=DEGREES)
    )  # fmt: skip
    return found


def water_properties() -> list[Comparison]:
    """Saturation, latent heat, viscosity and heat capacities against IAPWS.

    The package takes constants: heat of evaporation 2.5e6 J/kg at 0 °C, 4180, 1870 and 2000 J/(kg K) for
    water, vapour and ice, heat of fusion 3.34e5 J/kg; the heat of evaporation then falls by 2310 J/(kg K).
    The limits on these state what a constant costs over 0 to 40 °C (ice: -20 to 0 °C).
    """
    library("iapws")
    region, ice = library("iapws.iapws97"), library("iapws._iapws")
    liquid = [region.IAPWS97(T=float(t) + KELVIN, P=0.101325) for t in WARM]
    boiling = [(region.IAPWS97(T=float(t) + KELVIN, x=0), region.IAPWS97(T=float(t) + KELVIN, x=1)) for t in WARM]
    frozen = [ice._Ice(float(t) + KELVIN, 0.101325) for t in COLD]
    used = layout.L_V + (layout.C_V - layout.C_W) * WARM
    return [
        compare("water", IF97, PRESSURE, WARM, moistair.saturation_pressure(WARM),
                [1e6 * region._PSat_T(float(t) + KELVIN) for t in WARM], 2e-3, RELATIVE, axis=DEGREES),
        compare("ice", ICE, PRESSURE, COLD, moistair.saturation_pressure(COLD),
                [1e6 * ice._Sublimation_Pressure(float(t) + KELVIN) for t in COLD], 6e-3, RELATIVE, axis=DEGREES),
        compare("water", IF97, "heat of evaporation [J/kg]", WARM, used,
                [1e3 * (vapour.h - fluid.h) for fluid, vapour in boiling], 1e-3, RELATIVE, axis=DEGREES),
        compare("water", IF97, "viscosity [Pa s]", WARM, water.viscosity(WARM), [s.mu for s in liquid], 2.5e-2,
                RELATIVE, axis=DEGREES),
        compare("water", IF97, "heat capacity [J/(kg K)]", WARM, np.full(WARM.size, layout.C_W),
                [1e3 * s.cp for s in liquid], 1e-2, RELATIVE, axis=DEGREES),
        compare("water", IF97, "density [kg/m³]", WARM, np.full(WARM.size, layout.RHO_W), [s.rho for s in liquid],
                8e-3, RELATIVE, axis=DEGREES),
        compare("ice", "IAPWS R10-06 (2009), ice Ih; Python library iapws", "heat capacity [J/(kg K)]", COLD,
                np.full(COLD.size, layout.C_I), [1e3 * s["cp"] for s in frozen], 5e-2, RELATIVE, axis=DEGREES),
        compare("ice at 0 °C", "IAPWS R10-06 (2009) and IF97; Python library iapws", "heat of fusion [J/kg]", 0.0,
                layout.L_F, 1e3 * (region.IAPWS97(T=KELVIN + 0.01, P=0.101325).h - ice._Ice(KELVIN, 0.101325)["h"]),
                5e-3, RELATIVE, axis=DEGREES),
    ]  # fmt: skip


def kelvin() -> list[Comparison]:
    """Humidity and suction in equilibrium, and the suction at which pore water freezes.

    ln phi = - p_c V/(R T), V = 0.01801528/1000 m³/mol, R = 8.314462618 J/(mol K): the package writes it
    with R_v = 461.5 J/(kg K), 5e-5 less.  The nodes of a section hold the same.  Freezing: suction of water
    beside ice by Clapeyron with a constant heat of fusion L, against rho R_v T ln(p_water/p_ice) of the two
    vapour pressures; the limit is what the fall of L makes at -20 °C, (c_w - c_i) 20 K/(2 L) with
    4300 and 2000 J/(kg K), 6.9 % of the one and 7.4 % of the other.
    """
    suction = np.logspace(4, 9, 21)
    molar = 1000.0 * 8.314462618 / 0.01801528
    found = []
    for t in (0.0, 20.0, 40.0):
        expected = np.exp(-suction / (molar * (t + KELVIN)))
        found.append(
            compare(f"{t:g} °C", EQUILIBRIUM, "relative humidity [-]", np.log10(suction),
                    water.humidity_from_suction(suction, t), expected, 1e-4, axis="log10 of suction [Pa]")
        )  # fmt: skip
    bench = Bench(
        bar([("stone", 1.0)], left=False, right=False), {"stone": en15026()}, np.linspace(0, 1, 19), [0.0, 0.1],
        temperature=lambda x, y: 40.0 * x, suction=lambda x, y: 10.0 ** (4.0 + 5.0 * x),
    )  # fmt: skip
    own = np.exp(-bench.suction / (molar * (bench.temperature + KELVIN)))
    humidity = np.array([0.05, 0.3, 0.5, 0.8, 0.9, 0.95, 0.98, 0.99, 0.999])
    exact = -molar * 293.15 * np.log(humidity)
    beside_ice = -layout.CLAPEYRON * COLD
    vapour = 1000.0 * layout.R_V * (COLD + KELVIN) * np.log(over_water(COLD) / over_ice(COLD))
    return [
        *found,
        compare("nodes of a section, 0 to 40 °C", EQUILIBRIUM, "relative humidity at a node [-]",
                np.log10(bench.suction), bench.humidity, own, 1e-4, axis="log10 of suction [Pa]"),
        compare("20 °C", EQUILIBRIUM, "suction [Pa]", 100.0 * humidity,
                water.suction_from_humidity(humidity), exact, 1e-4, RELATIVE, axis="relative humidity [%]"),
        compare("water beside ice", MURPHY, "suction [Pa]", COLD, beside_ice, vapour, 7.5e-2, RELATIVE, axis=DEGREES),
    ]  # fmt: skip
