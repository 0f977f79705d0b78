"""Air zones in a case file: a space whose air is computed, and what moves and conditions it.

`[zone.crawlspace]` takes the place of `[indoor.crawlspace]`: temperature and
humidity then follow from the section, the openings, the fans and the appliances.
Vented, sealed, decoupled and conditioned crawlspaces differ in these settings only.
"""

from __future__ import annotations

from typing import Annotated

import numpy as np
from numpy.typing import NDArray
from pydantic import BeforeValidator

from stemwall.cases.inputs.field_types import PRACTICE, Strict, described
from stemwall.cases.inputs.quantities import (
    AirChange,
    EnergyFactor,
    FlowPerArea,
    Fraction,
    Humidity,
    IndoorTemperature,
    Power,
    SetPoint,
    VentHeight,
    VentRatio,
    WaterFlow,
    WaterRate,
)
from stemwall.solver.discretisation.air_zones import opening_area
from stemwall.solver.model.air_zone import Control, Stream, Vents, Zone
from stemwall.solver.model.section import Section

Floats = NDArray[np.float64]

#: ``false`` in a case file takes an appliance away
OrFalse = BeforeValidator(lambda value: None if value is False else value)

OUTDOORS = "outdoors"
SECONDS = {"hour": 3600.0, "day": 86400.0}
R408 = "R408 or its equivalent (second-hand)"
NONE = "none by default"


class VentTable(Strict):
    """Openings to the outdoors, driven by wind and buoyancy."""

    ratio: VentRatio = described(
        1 / 150, "free vent area over floor area", f"1:150, {R408}; 1:1500 with a ground cover"
    )
    height: VentHeight = described("1 ft", "height between low and high openings", PRACTICE)
    wind_share: Fraction = described(0.4, "wind at the openings over wind at the station", PRACTICE)


class HeaterTable(Strict):
    """A heater with a thermostat."""

    set_point: SetPoint = described("60 degF", "temperature below which it heats", PRACTICE)
    capacity: Power = described(100.0, "output in W per metre of section", PRACTICE)


class DehumidifierTable(Strict):
    """A dehumidifier with a humidistat."""

    set_point: Humidity = described("50 %", "relative humidity above which it runs", "45–50 %, trade practice")
    capacity: WaterRate = described(
        0.36, "water taken out per floor area, kg/(m2 d)", f"70 pints a day per 1000 ft2, {R408}"
    )
    energy_factor: EnergyFactor = described(1.8, "litres of water per kWh of electricity", PRACTICE)


class ZoneTable(Strict):
    """The air of a space, computed."""

    temperature: IndoorTemperature = described("60 degF", "temperature at the start", "start value only")
    humidity: Humidity = described("70 %", "relative humidity at the start", "start value only")
    outdoor_leakage: AirChange = described(0.1, "air change with the outdoors through leaks, 1/h", PRACTICE)
    house_leakage: AirChange = described(
        0.05, "air change with the house through the floor, 1/h; 0 with an air barrier there", PRACTICE
    )
    supply: FlowPerArea = described(
        0.0, "conditioned air from the house per floor area, m/s", f"{NONE}; 1 cfm per 50 ft2 where used, {R408}"
    )
    exhaust: FlowPerArea = described(
        0.0, "air drawn out per floor area, m/s", f"{NONE}; 1 cfm per 50 ft2 where used, {R408}"
    )
    make_up_ground: Fraction = described(
        0.05,
        "share of the exhaust's make-up air that is drawn through the ground and comes saturated at its temperature",
        f"a guess; {PRACTICE}",
    )
    make_up_outdoors: Fraction = described(
        0.5, "share of the rest of the make-up air that is outdoor air; the house gives what is left", PRACTICE
    )
    duct_leakage: AirChange = described(
        0.0, "air change by a leaking supply duct, 1/h", f"{NONE}; 5–20 % of the duct's flow are usual ({PRACTICE})"
    )
    duct_air: str = described("", "key of [indoor.*] that describes the air in the supply duct", "")
    return_leakage: AirChange = described(
        0.0, "air change by a leaking return duct, 1/h: air of the zone is lost, outdoor air takes its place", NONE
    )
    house: str = described("house", "key of the space above", "")
    vents: Annotated[VentTable | None, OrFalse] = described(None, "openings to the outdoors, or false", NONE)
    heater: Annotated[HeaterTable | None, OrFalse] = described(None, "a heater, or false", NONE)
    dehumidifier: Annotated[DehumidifierTable | None, OrFalse] = described(None, "a dehumidifier, or false", NONE)
    moisture_gain: WaterFlow = described(0.0, "moisture brought in, kg per metre and day", NONE)
    heat_gain: Power = described(0.0, "heat of appliances and ducts, W per metre", NONE)

    @property
    def make_up(self) -> dict[str, float]:
        """Make-up air per floor area [m/s] by where it comes from: ground, outdoors, house."""
        ground = self.exhaust * self.make_up_ground
        outdoors = (self.exhaust - ground) * self.make_up_outdoors
        return {"ground": ground, "outdoors": outdoors, "house": self.exhaust - ground - outdoors}


def floor_width(section: Section, key: str) -> float:
    """Width of the openings of a space [m], their union seen from above."""
    spans = sorted((o.x0, o.x1) for o in section.openings if o.climate == key)
    width, reached = 0.0, -np.inf
    for a, b in spans:
        width += max(0.0, b - max(a, reached))
        reached = max(reached, b)
    return float(width)


def air_zone(key: str, table: ZoneTable, section: Section, wind: Floats, *, pool: float = 0.0) -> Zone:
    """Return the zone of a table.

    Parameters
    ----------
    key : str
        Key of the space.
    table : ZoneTable
        What moves and conditions its air.
    section : Section
        Gives its size.
    wind : Floats
        Wind at the station [m/s], (hours,).
    pool : float
        Width of the water that stands in it at times [m].
    """
    area, width, hours = opening_area(section, key), floor_width(section, key), wind.size

    def stream(name: str, source: str, flow: float) -> tuple[Stream, ...]:
        return (Stream(name, source, np.full(hours, flow)),) if flow > 0.0 else ()

    per_hour = area / SECONDS["hour"]
    make_up = {source: flow * width for source, flow in table.make_up.items()}
    streams = (
        *stream("leakage", OUTDOORS, table.outdoor_leakage * per_hour),
        *stream("floor leakage", table.house, table.house_leakage * per_hour),
        *stream("supply", table.house, table.supply * width),
        *stream("make-up from outdoors", OUTDOORS, make_up["outdoors"]),
        *stream("make-up from the house", table.house, make_up["house"]),
        *stream("duct leakage", table.duct_air, table.duct_leakage * per_hour),
        *stream("return leakage", OUTDOORS, table.return_leakage * per_hour),
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
        ground_air=np.full(hours, make_up["ground"]) if make_up["ground"] > 0.0 else None,
        pool=pool,
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
