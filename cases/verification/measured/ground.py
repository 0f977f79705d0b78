"""Measured in the field: soil temperatures under grass, fill under a heated slab; for frost see `measured_frost`.

Soil of 2020 at stations of the US Climate Reference Network (Diamond et al. 2013, Bull. Amer. Meteor. Soc. 94, 489-498;
public domain), under weather made hourly from the days of the same stations, see `stemwall.weather.daily`: half waves
of temperature with the measured extremes and mean, one vapour pressure a day, sun and rain by their sums, wind held at
2.7 m/s.  One set for all of them: default loam, a water table at 3 m, the grass of the catalogue of covers.  The column
is that from which runs start (`stemwall.solver.open_ground`), repeated until years are alike.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, partial

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.section.eaves_strip import OUTDOORS
from stemwall.cases.surroundings.outdoor_climate import outdoors
from stemwall.cases.surroundings.site import GroundCover, Site, Snow
from stemwall.cases.verification.comparison import ABOVE, EXCESS, RELATIVE, Comparison, compare, sign
from stemwall.cases.verification.rig import Bench, Load, bar, held_suction, held_temperature
from stemwall.cases.verification.rules_of_practice.columns import DAY, Column, Layer, room, soil
from stemwall.materials.catalogue import catalogue
from stemwall.solver.discretisation.network import Surface
from stemwall.solver.model.settings import Accuracy
from stemwall.solver.open_ground import GroundColumn, OpenGround
from stemwall.weather.daily import DEPTHS, MeasuredDays, read_days

Floats = NDArray[np.float64]

NETWORK = "US Climate Reference Network, daily soil temperatures of 2020 (read)"
MEDIAN = "US Climate Reference Network 2020, 40 stations east of 100° W: median 1.6, quartiles 1.3 and 2.1 K (computed)"
FILL = "Rantala, Leivo 2008, Building and Environment 43, 736-744, abstract: 100 % all year"
#: what a right model with typical, not fitted, materials should reach: a judgement, no published limit
MEAN_BAND, WAVE_BAND, DAY_BAND = 1.0, 0.15, 10.0

TOO_COLD = (
    "ground under grass comes out some 0.7 K too cold in the median.  The wind is a constant, rain is spread over its "
    "day, and grass that has water evaporates all year above 5 °C, though it is mown and dormant for months"
)
TOO_LARGE = (
    "the yearly wave near the surface comes out too large.  Dead leaves and thatch, which shade and insulate in "
    "winter, are not counted, and snow follows a degree-day model, its depth was not measured"
)
TOO_SLOW = (
    "the lag is a day longer than the band allows.  The soil of the station conducts better than the default loam: "
    "apparent diffusivities at these stations are 0.85e-6 to 1.6e-6 m2/s from the lag, that of the loam is 0.56e-6"
)
LATE = (
    ".  At 1 m the wave comes 10 to 13 days late: the soil conducts better than the default loam, as the lag from "
    "10 to 100 cm shows"
)


@dataclass(frozen=True)
class Soil:
    """Daily means over days and depths, computed and measured [degC], and the mean of the air."""

    depths: Floats
    computed: Floats
    measured: Floats
    air: float


@cache
def soil_at(station: str, *, snow: bool = True) -> Soil:
    """Return the soil of a station under its grass, with snow on it or without; computed once."""
    days = read_days(station)
    column = GroundColumn(_ground(days, snow=snow))
    for _ in range(2):
        before = column.temperature
        column.march_year()
        column.move_by(column.temperature - before)
    hourly = np.array(list(column.hours_of_a_year()))
    depths = np.array(DEPTHS)
    daily = hourly.reshape(-1, 24, column.depth.size).mean(axis=1)
    computed = np.array([np.interp(depths, column.depth, day) for day in daily])
    measured = np.stack([days.soil_temperature(depth) for depth in DEPTHS], axis=1)
    return Soil(depths, computed, measured, float(days.year.temperature.mean()))


def _ground(days: MeasuredDays, *, snow: bool) -> OpenGround:
    site = Site(cover=GroundCover(kind="grass"), snow=Snow(counted=snow))
    climate = outdoors(days.year, site, days.year.start, 8760, beside=False)[OUTDOORS]
    finish = (1.0 - site.ground_albedo, site.ground_emissivity)
    loam = catalogue().material("soil_loam")
    return OpenGround(loam, climate, days.year.start, -3.0, finish, days.year.ground_wave())


def harmonic(daily: Floats) -> tuple[float, float, float]:
    """Mean, amplitude and warmest day [d] of daily values from 1 January, days without a value left out."""
    known = np.isfinite(daily)
    angle = 2.0 * np.pi * (np.flatnonzero(known) + 0.5) / 365.25
    basis = np.stack([np.ones(angle.size), np.cos(angle), np.sin(angle)], axis=1)
    mean, cosine, sine = np.linalg.lstsq(basis, daily[known], rcond=None)[0]
    return float(mean), float(np.hypot(cosine, sine)), float(np.arctan2(sine, cosine) / (2 * np.pi) * 365.25 % 365.25)


def soil_temperatures(station: str) -> list[Comparison]:
    """Soil at 5 to 100 cm under grass through 2020: yearly mean, amplitude of the yearly wave, warmest day.

    Default loam and grass under the weather of the station, hours of its measured days; see the module.
    """
    found = soil_at(station)
    own = np.array([harmonic(column) for column in found.computed.T])
    seen = np.array([harmonic(column) for column in found.measured.T])
    axis, air = "depth [m]", {"mean of the air [°C]": found.air}
    return [
        compare("Mean", NETWORK, "yearly mean [°C]", found.depths, own[:, 0], seen[:, 0], MEAN_BAND, axis=axis,
                extra=air),
        compare("Wave", NETWORK, "yearly amplitude [K]", found.depths, own[:, 1], seen[:, 1], WAVE_BAND, RELATIVE,
                axis=axis),
        compare("Lag", NETWORK, "warmest day [d]", found.depths, own[:, 2], seen[:, 2], DAY_BAND, axis=axis),
    ]  # fmt: skip


def excess_over_air() -> list[Comparison]:
    """Soil at 1 m against the air, yearly means of the six stations: the median within the quartiles of forty.

    And that it is nowhere colder than the air nor more than 4 K warmer, which would mean that radiation, evaporation
    or albedo are wrong.
    """
    found = {station: soil_at(station) for station, _, _ in PLACES}
    own = np.array([harmonic(soil.computed[:, -1])[0] - soil.air for soil in found.values()])
    seen = np.array([harmonic(soil.measured[:, -1])[0] - soil.air for soil in found.values()])
    labels = tuple(title for _, title, _ in PLACES)
    number = np.arange(own.size)
    return [
        compare("Median", MEDIAN, "soil at 1 m less air [K]", [0], np.median(own), 1.7, 0.4,
                extra={"median measured at these six [K]": float(np.median(seen))}),
        sign("Not colder than the air", MEDIAN, "soil at 1 m less air [K]", own, ABOVE, np.zeros(own.size)),
        compare("Each", NETWORK, "soil at 1 m less air [K]", number, own, seen, MEAN_BAND, labels=labels,
                axis="station"),
        compare("Not more than 4 K warmer", MEDIAN, "soil at 1 m less air [K]", number, own, np.full(own.size, 4.0),
                1e-9, EXCESS, labels=labels, axis="station"),
    ]  # fmt: skip


def conduction() -> list[Comparison]:
    """Conduction from 10 cm to 100 cm at Durham, NC: default loam whose top takes the measured days at 10 cm.

    A closed column 12 m deep at a suction of 10 kPa, the year twice.  Measured at 100 cm: amplitude 6.7 K, 16 days
    after 10 cm; tolerances 10 % and 6 d.
    """
    days = read_days("durham_nc")
    top, deep = days.soil_temperature(0.1), days.soil_temperature(1.0)
    time = np.arange(top.size) + 0.5
    known = np.isfinite(top)

    def load(t: float, surface: Surface) -> Load:
        warmth = float(np.interp(t / DAY % 366.0, time[known], top[known]))
        return {**held_temperature(warmth), **held_suction(1e4)}

    lines = np.concatenate([np.linspace(0.0, 9.1, 14), np.linspace(9.2, 12.0, 29)])
    section = bar([("soil_loam", 12.0)], left=False, upright=True)
    bench = Bench(
        section, {"soil_loam": catalogue().material("soil_loam")}, [0.0, 0.1], lines, load, float(np.nanmean(top)), 1e4,
        Accuracy(longest_step=DAY),
    )  # fmt: skip
    read = []
    for day in range(2 * 366):
        bench.run_to((day + 0.5) * DAY)
        read.append(float(bench.along_y(bench.temperature, [12.0 - 0.9])[0]))
    own, seen, above = harmonic(np.array(read[366:])), harmonic(deep), harmonic(top)
    return [
        compare("Amplitude", NETWORK, "amplitude at 100 cm [K]", [1.0], own[1], seen[1], 0.10, RELATIVE),
        compare("Lag", NETWORK, "lag from 10 to 100 cm [d]", [1.0], own[2] - above[2], seen[2] - above[2], 6.0),
    ]


def fill_under_slab() -> list[Comparison]:
    """Relative humidity in gravel that was laid dry under a heated slab: 98 % or more within two years.

    From below 2 m of clay loam at 10 kPa and 8 °C, 0.25 m of gravel at 80 %, 100 mm of expanded polystyrene, a slab of
    100 mm; a room of 21 °C and 40 %.
    """
    layers = (
        soil(2.0, 12, "soil_clay_loam"), Layer("gravel_bankrun", 0.25, 8), Layer("eps_ii", 0.1, 6),
        Layer("concrete_wc070", 0.1, 6),
    )  # fmt: skip
    column = Column(layers, room(21.0, 0.4), 8.0).after(2.0)
    return [sign("Gravel, after two years", FILL, "relative humidity [-]", column.humidity_in(1), ABOVE, 0.98)]


#: station, place, and why its soil is known not to hold, if it is
PLACES: tuple[tuple[str, str, str], ...] = (
    ("durham_nc", "Durham NC", TOO_COLD),
    ("crossville_tn", "Crossville TN", ""),
    ("lafayette_la", "Lafayette LA", TOO_COLD + LATE),
    ("ithaca_ny", "Ithaca NY", ""),
    ("sandstone_mn", "Sandstone MN", TOO_LARGE),
    ("northwest_nd", "North-west ND", TOO_LARGE + LATE),
)


def _checks() -> tuple[tuple[str, str, Callable[[], list[Comparison]], str], ...]:
    def check(station: str) -> Callable[[], list[Comparison]]:
        run = partial(soil_temperatures, station)
        run.__doc__ = soil_temperatures.__doc__
        return run

    return tuple((station.split("_")[0], title, check(station), known) for station, title, known in PLACES)


#: short name, place, check, and why it is known not to hold
STATION_CHECKS = _checks()
