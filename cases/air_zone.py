"""Air zones in a case file: a space whose air is computed, and what moves and conditions it.

`[zone.crawlspace]` takes the place of `[indoor.crawlspace]`: temperature and
humidity then follow from the section, the openings, the fans and the appliances.
Vented, sealed, decoupled and conditioned crawlspaces differ in these settings only.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

import numpy as np
from numpy.typing import NDArray
from pydantic import BeforeValidator

from stemwall.cases.fields import PRACTICE, Strict, described
from stemwall.cases.quantities import Extent, Fraction, Humidity, Kind, Temperature, reader
from stemwall.solver.climate import Climate
from stemwall.solver.environment import Environment, WaterSource
from stemwall.solver.section import Section
from stemwall.solver.zone import Control, Stream, Vents, Zone, opening_area
from stemwall.weather.year import WeatherYear

Floats = NDArray[np.float64]

AIR_CHANGE = Kind("an air change of zero or more", "1/hour", '0.3 or "0.3 1/hour"', 0.0, 1e4)
FLOW_PER_AREA = Kind("an air flow per floor area", "m/s", '1e-4, "0.1 L/s/m^2" or "1 ft^3/min/(50 ft^2)"', 0.0, 1.0)
POWER = Kind("a power per metre of section", "W/m", '30 or "30 W/m"', 0.0)
WATER_RATE = Kind("a water rate per floor area", "kg/m^2/day", '0.36 or "0.36 kg/m^2/day"', 0.0)
WATER_FLOW = Kind("water per metre of section and day", "kg/m/day", '0.5 or "0.5 kg/m/day"', 0.0)

AirChange = Annotated[float, reader(AIR_CHANGE)]
FlowPerArea = Annotated[float, reader(FLOW_PER_AREA)]
Power = Annotated[float, reader(POWER)]
WaterRate = Annotated[float, reader(WATER_RATE)]
WaterFlow = Annotated[float, reader(WATER_FLOW)]

#: ``false`` in a case file takes an appliance away
OrFalse = BeforeValidator(lambda value: None if value is False else value)

OUTDOORS = "outdoors"
SECONDS = {"hour": 3600.0, "day": 86400.0}
R408 = "R408 or its equivalent (second-hand)"


class VentTable(Strict):
    """Openings to the outdoors, driven by wind and buoyancy."""

    ratio: Fraction = described(1 / 150, "free vent area over floor area", f"1:150, {R408}; 1:1500 with a ground cover")
    height: Extent = described("1 ft", "height between low and high openings", PRACTICE)
    wind_share: Fraction = described(0.4, "wind at the openings over wind at the station", PRACTICE)


class HeaterTable(Strict):
    """A heater with a thermostat."""

    set_point: Temperature = described("60 degF", "temperature below which it heats", PRACTICE)
    capacity: Power = described(100.0, "output in W per metre of section", PRACTICE)


class DehumidifierTable(Strict):
    """A dehumidifier with a humidistat."""

    set_point: Humidity = described("50 %", "relative humidity above which it runs", "45–50 %, trade practice")
    capacity: WaterRate = described(
        0.36, "water taken out per floor area, kg/(m2 d)", f"70 pints a day per 1000 ft2, {R408}"
    )
    energy_factor: float = described(1.8, "litres of water per kWh of electricity", PRACTICE)


class ZoneTable(Strict):
    """The air of a space, computed."""

    temperature: Temperature = described("60 degF", "temperature at the start", "start value only")
    humidity: Humidity = described("70 %", "relative humidity at the start", "start value only")
    outdoor_leakage: AirChange = described(0.1, "air change with the outdoors through leaks, 1/h", PRACTICE)
    house_leakage: AirChange = described(0.05, "air change with the house through the floor, 1/h", PRACTICE)
    supply: FlowPerArea = described(0.0, "conditioned air from the house per floor area", f"1 cfm per 50 ft2, {R408}")
    exhaust: FlowPerArea = described(0.0, "air drawn out per floor area", f"1 cfm per 50 ft2, {R408}")
    make_up_outdoors: Fraction = described(0.5, "share of the exhaust's make-up air that is outdoor air", PRACTICE)
    duct_leakage: AirChange = described(0.0, "air change by a leaking supply duct, 1/h", "none by default")
    duct_air: str = described("", "key of [indoor.*] that describes the air in the duct", "")
    house: str = described("house", "key of the space above", "")
    vents: Annotated[VentTable | None, OrFalse] = described(None, "openings to the outdoors, or false")
    heater: Annotated[HeaterTable | None, OrFalse] = described(None, "a heater, or false")
    dehumidifier: Annotated[DehumidifierTable | None, OrFalse] = described(None, "a dehumidifier, or false")
    moisture_gain: WaterFlow = described(0.0, "moisture brought in, kg per metre and day", "none by default")
    heat_gain: Power = described(0.0, "heat of appliances and ducts, W per metre", "none by default")


class LeakTable(Strict):
    """Water brought to a place: a share of driving rain, or an amount at a time."""

    name: str
    x: Annotated[float, reader(Kind("a length", "m", '0.2 or "8 in"'))]
    y: Annotated[float, reader(Kind("a length", "m", '0.2 or "8 in"'))]
    region: str | None = None
    rain_share: Fraction = described(0.0, "share of the rain on the wall above", "1 %, ASHRAE 160 (from memory)")
    rain_height: Extent = described("8 ft", "height of wall that catches that rain", PRACTICE)
    amount: Annotated[float, reader(Kind("an amount of water per metre", "kg/m", '5 or "5 kg/m"', 0.0))] = 0.0
    start_hour: int = described(0, "hour of the run at which the amount begins to arrive", "")
    hours: int = described(24, "hours over which it arrives", "")
    repeat_days: int = described(0, "days after which it comes again; 0: once", "")


def environment(
    zones: Mapping[str, ZoneTable],
    leaks: tuple[LeakTable, ...],
    section: Section,
    climates: Mapping[str, Climate],
    year: WeatherYear,
    index: NDArray[np.int64],
) -> Environment:
    """Zones and water sources of a case.

    Parameters
    ----------
    zones, leaks
        Tables of the case.
    section : Section
        Gives the size of the spaces.
    climates : mapping
        Given climates that air comes from.
    year, index
        Weather, and the hour of it that each hour of the run takes.
    """
    wind = year.wind_speed[index]
    return Environment(
        tuple(_zone(key, table, section, wind) for key, table in zones.items()),
        tuple(_leak(table, climates[OUTDOORS]) for table in leaks),
    )


def floor_width(section: Section, key: str) -> float:
    """Width of the openings of a space [m], their union seen from above."""
    spans = sorted((o.x0, o.x1) for o in section.openings if o.climate == key)
    width, reached = 0.0, -np.inf
    for a, b in spans:
        width += max(0.0, b - max(a, reached))
        reached = max(reached, b)
    return float(width)


def _zone(key: str, table: ZoneTable, section: Section, wind: Floats) -> Zone:
    area, width, hours = opening_area(section, key), floor_width(section, key), wind.size

    def stream(name: str, source: str, flow: float) -> tuple[Stream, ...]:
        return (Stream(name, source, np.full(hours, flow)),) if flow > 0.0 else ()

    per_hour = area / SECONDS["hour"]
    make_up = table.exhaust * width
    streams = (
        *stream("leakage", OUTDOORS, table.outdoor_leakage * per_hour),
        *stream("floor leakage", table.house, table.house_leakage * per_hour),
        *stream("supply", table.house, table.supply * width),
        *stream("make-up from outdoors", OUTDOORS, make_up * table.make_up_outdoors),
        *stream("make-up from the house", table.house, make_up * (1.0 - table.make_up_outdoors)),
        *stream("duct leakage", table.duct_air, table.duct_leakage * per_hour),
    )
    vents = table.vents
    return Zone(
        key=key,
        temperature=table.temperature,
        humidity=table.humidity,
        streams=streams,
        vents=None if vents is None else Vents(vents.ratio * width, OUTDOORS, vents.height, vents.wind_share * wind),
        controls=_controls(table, width),
        heat_gain=np.full(hours, table.heat_gain) if table.heat_gain else None,
        moisture_gain=np.full(hours, table.moisture_gain / SECONDS["day"]) if table.moisture_gain else None,
    )


def _controls(table: ZoneTable, width: float) -> tuple[Control, ...]:
    """Heater (band 1 K) and dehumidifier (band 3 %); bands are a plain choice."""
    found: tuple[Control, ...] = ()
    if table.heater is not None:
        found += (Control("heater", table.heater.set_point, table.heater.capacity, 1.0),)
    if table.dehumidifier is not None:
        dryer = table.dehumidifier
        capacity = dryer.capacity * width / SECONDS["day"]
        found += (Control("dehumidifier", dryer.set_point, capacity, 0.03, 3.6e6 / dryer.energy_factor),)
    return found


def _leak(table: LeakTable, outdoors: Climate) -> WaterSource:
    hours = outdoors.hours
    rate = table.rain_share * table.rain_height * outdoors.facings["left"].rain
    hour = np.arange(hours)
    since = hour - table.start_hour
    if table.repeat_days > 0:
        since = np.where(since >= 0, since % (24 * table.repeat_days), since)
    arriving = (since >= 0) & (since < table.hours)
    rate = rate + np.where(arriving, table.amount / (SECONDS["hour"] * table.hours), 0.0)
    return WaterSource(table.name, table.x, table.y, rate, outdoors.temperature, table.region)
