"""The kinds of number on a laboratory sheet: limits, usual ranges, and the slips of unit that explain odd ones."""

from __future__ import annotations

from typing import Annotated, Any, TypeAlias

from pydantic import BeforeValidator

from stemwall.cases.inputs.units import PERM, SD_READINGS
from stemwall.cases.laboratory.units import FACTORS, Moisture, moisture_reader, reader
from stemwall.materials import kinds as known
from stemwall.materials.ranges import Kind, linear

_BTU_IN = FACTORS["W/(m K)"]["Btuin/hft2F"]

DENSITY = known.DENSITY.of("a dry density", 0.5, 25_000.0, (5.0, 3500.0), examples='1800, "1.8 g/cm3" or "112 lb/ft3"')
HEAT = known.SPECIFIC_HEAT.of(
    "a specific heat", 100.0, 10_000.0, (400.0, 3000.0), examples='850, "0.85 kJ/(kg K)" or "0.2 Btu/(lb degF)"'
)
POROSITY = Kind(
    "a porosity", "1", '0.3 or "30 %"', 0.0, 1.0, (0.01, 1.0), open_low=True, readings={"{} %": linear(0.01)}
)
MOISTURE = Kind(
    "a moisture content", "kg/m3 of water", '12, "12 kg/m3", "0.7 mass-%" or "1.2 vol-%"', 0.0, 1000.0, (0.0, 1000.0)
)
HUMIDITY = Kind("a relative humidity", "1", '0.33 or "33 %"', 0.0, 1.0, (0.0, 1.0), readings={"{} %": linear(0.01)})
WARMTH = Kind("a temperature of a test", "degC", '23, "23 degC" or "73 degF"', -40.0, 120.0, (5.0, 50.0))
SUCTION = Kind("a suction", "Pa", '100000, "1 bar", "100 cm" of head or "4.2 pF"', 0.0, 1e9, (10.0, 3e8))
CONDUCTIVITY = Kind(
    "a thermal conductivity", "W/(m K)", '0.6, "35 mW/(m K)" or "4.2 Btu in/(h ft2 degF)"', 1e-3, 500.0, (0.015, 5.0),
    readings={"{} Btu in/(h ft2 degF)": linear(_BTU_IN), "{} mW/(m K)": linear(1e-3)},
)  # fmt: skip
THICKNESS = Kind("a thickness of a specimen", "m", '0.02, "20 mm" or "3/4 in"', 0.0, 2.0, (2e-5, 0.5), open_low=True)
AIR_LAYER = Kind("a thickness of still air", "m", '0.015 or "15 mm"', 0.0, 0.5, (0.0, 0.06))
AREA = Kind("an area", "m2", '0.01 or "100 cm2"', 0.0, 10.0, (1e-4, 1.0), open_low=True)
MASS = Kind("a mass", "kg", '0.35, "350 g" or "12 oz"', -100.0, 1000.0, (-1.0, 100.0))
TIME = Kind("a time", "s", '3600, "1 h" or "60 min"', 0.0, 1e9, (0.0, 1e8))
MU = Kind("a vapour resistance factor", "", "10", 0.0, 1e8, (1.0, 2e6), open_low=True)
SD = Kind(
    "an equivalent air-layer thickness or a permeance", "m", '2.5, "2.5 m" or "1.3 perm"', 0.0, 1e6, (1e-3, 5000.0),
    open_low=True, readings=SD_READINGS,
)  # fmt: skip
PERMEANCE = Kind(
    "a vapour permeance", "kg/(m2 s Pa)", '5e-11, "50 ng/(m2 s Pa)" or "0.9 perm"', 0.0, 1e-5, (1e-15, 1e-8),
    open_low=True, readings={"{} perm": linear(PERM), "{} ng/(m2 s Pa)": linear(1e-12)},
)  # fmt: skip
PERMEABILITY = Kind(
    "a vapour permeability", "kg/(m s Pa)", '2e-11, "20 ng/(m s Pa)" or "14 perm-inch"', 0.0, 1e-8, (1e-16, 2.1e-10),
    open_low=True, readings={"{} perm-inch": linear(PERM * 0.0254), "{} ng/(m s Pa)": linear(1e-12)},
)  # fmt: skip
VAPOUR_FLOW = Kind("a flow of vapour", "kg/(m2 s)", '1e-7 or "9 g/(m2 day)"', 0.0, 1.0, (1e-13, 1e-3), open_low=True)
ABSORPTION = Kind(
    "a water absorption coefficient", "kg/(m2 s^0.5)", '0.1 or "6 kg/(m2 h^0.5)"', 0.0, 10.0, (1e-4, 1.3),
    open_low=True, readings={"{} kg/(m2 h^0.5)": linear(1.0 / 60.0)},
)  # fmt: skip
SATURATED = Kind(
    "a hydraulic conductivity", "m/s of water", '1e-6 or "8.6 cm/day"', 0.0, 10.0, (1e-14, 0.1), open_low=True,
    readings={"{} cm/day": linear(0.01 / 86400.0)},
)  # fmt: skip
FILM = Kind("a vapour film coefficient", "s/m", "1e-7", 0.0, 1e-3, (1e-9, 1e-5), open_low=True)
HEAT_FILM = Kind("a heat film coefficient in W/(m2 K)", "", "8", 0.0, 1e4, (1.0, 50.0), open_low=True)
SCATTER = Kind("a relative scatter", "1", '0.05 or "5 %"', 0.0, 1.0, (0.005, 0.5), open_low=True)
DRAWS = Kind("how many draws", "", "1000", 100, 5000, (100, 5000), whole=True)


def _listed(value: object) -> object:
    return [value] if not isinstance(value, list | tuple) or isinstance(value, Moisture) else value


def _each_listed(value: object) -> object:
    return [_listed(item) for item in (value if isinstance(value, list | tuple) else [value])]


_ONE_OR_MORE = BeforeValidator(_listed)
_POINTS = BeforeValidator(_each_listed)

Humidity: TypeAlias = Annotated[float, reader(HUMIDITY)]
Warmth: TypeAlias = Annotated[float, reader(WARMTH)]
Suction: TypeAlias = Annotated[float, reader(SUCTION)]
Water: TypeAlias = Annotated[Any, moisture_reader(MOISTURE)]
Conductivity: TypeAlias = Annotated[float, reader(CONDUCTIVITY)]
Thickness: TypeAlias = Annotated[float, reader(THICKNESS)]
AirLayer: TypeAlias = Annotated[float, reader(AIR_LAYER)]
Area: TypeAlias = Annotated[float, reader(AREA)]
Mass: TypeAlias = Annotated[float, reader(MASS)]
Time: TypeAlias = Annotated[float, reader(TIME)]
Film: TypeAlias = Annotated[float, reader(FILM)]
HeatFilm: TypeAlias = Annotated[float, reader(HEAT_FILM)]
Scatter: TypeAlias = Annotated[float, reader(SCATTER)]
Draws: TypeAlias = Annotated[int, reader(DRAWS)]

#: one value, or one for each specimen
Densities: TypeAlias = Annotated[tuple[Annotated[float, reader(DENSITY)], ...], _ONE_OR_MORE]
Heats: TypeAlias = Annotated[tuple[Annotated[float, reader(HEAT)], ...], _ONE_OR_MORE]
Porosities: TypeAlias = Annotated[tuple[Annotated[float, reader(POROSITY)], ...], _ONE_OR_MORE]
Waters: TypeAlias = Annotated[tuple[Water, ...], _ONE_OR_MORE]
Mus: TypeAlias = Annotated[tuple[Annotated[float, reader(MU)], ...], _ONE_OR_MORE]
Sds: TypeAlias = Annotated[tuple[Annotated[float, reader(SD)], ...], _ONE_OR_MORE]
Permeances: TypeAlias = Annotated[tuple[Annotated[float, reader(PERMEANCE)], ...], _ONE_OR_MORE]
Permeabilities: TypeAlias = Annotated[tuple[Annotated[float, reader(PERMEABILITY)], ...], _ONE_OR_MORE]
VapourFlows: TypeAlias = Annotated[tuple[Annotated[float, reader(VAPOUR_FLOW)], ...], _ONE_OR_MORE]
Absorptions: TypeAlias = Annotated[tuple[Annotated[float, reader(ABSORPTION)], ...], _ONE_OR_MORE]
SaturatedFlows: TypeAlias = Annotated[tuple[Annotated[float, reader(SATURATED)], ...], _ONE_OR_MORE]
#: at each of several points one value, or one for each specimen
WaterPoints: TypeAlias = Annotated[tuple[Waters, ...], _POINTS]
ConductivityPoints: TypeAlias = Annotated[tuple[Annotated[tuple[Conductivity, ...], _ONE_OR_MORE], ...], _POINTS]
#: for each specimen a series
MassSeries: TypeAlias = tuple[tuple[Mass, ...], ...]
