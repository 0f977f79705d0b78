"""The kinds of number in a case: what each may be, where it usually lies, and the type that reads it.

Limits are physical or numerical; beyond them a case is refused.  ``usual`` ranges are common practice, no source:
what lies outside is asked about on the console and in the report, since it may be meant.
"""

from __future__ import annotations

from typing import Annotated, TypeAlias

from stemwall.cases.inputs.units import PERM, SD_READINGS, US_RESISTANCE, read, reader, registry
from stemwall.materials.ranges import Kind, Quantity

__all__ = ["PERM", "US_RESISTANCE", "Kind", "read", "reader", "registry"]

_LONG = '0.2, "8 in", "2 ft 6 in" or "200 mm"'
_SHARE = '0.75 or "75 %"'
_WARM = '21, "21 degC" or "70 degF"'
_APART = '0.1, "0.1 K" or "0.2 degF"'

# lengths [m]; those that may be zero are none at all then
LENGTH = Kind("a length", "m", _LONG, -1e4, 1e4, (-200.0, 200.0))
THICKNESS = Kind("a length", "m", '0.2, "8 in" or "200 mm"', 0.0, 1e4, (1e-3, 200.0), open_low=True)
EXTENT = Kind("a length of zero or more", "m", '0, 0.2, "8 in" or "200 mm"', 0.0, 1e4, (1e-3, 200.0))
POSITION = LENGTH.of("a position", -1e3, 1e3, (-60.0, 60.0))
WALL = THICKNESS.of("the thickness of a wall", 0.0, 3.0, (0.09, 0.6))
ABOVE_GRADE = THICKNESS.of("a height above grade", 0.0, 4.0, (0.05, 1.3))
SHALLOW = THICKNESS.of("the depth of a footing below grade", 0.0, 8.0, (0.25, 2.0))
DEEP = THICKNESS.of("the depth of a basement's footing below grade", 0.0, 12.0, (0.9, 4.0))
FOOTING_WIDTH = THICKNESS.of("the width of a footing", 0.0, 6.0, (0.15, 1.5))
FOOTING_HEIGHT = THICKNESS.of("the height of a footing", 0.0, 3.0, (0.1, 0.8))
HALF_WIDTH = THICKNESS.of(
    "half the width of a building", 0.3, 200.0, (1.5, 15.0), open_low=False, examples='4, "13 ft" or "400 cm"'
)
BOARD = THICKNESS.of("the thickness of insulation", 0.0, 1.0, (0.008, 0.4))
OPTIONAL_BOARD = EXTENT.of("the thickness of insulation", 0.0, 1.0, (0.008, 0.4))
SLAB = THICKNESS.of("the thickness of a slab", 0.0, 2.0, (0.03, 0.4))
BASE = THICKNESS.of("the thickness of a base", 0.0, 3.0, (0.04, 0.8))
OPTIONAL_BASE = EXTENT.of("the thickness of a base", 0.0, 3.0, (0.04, 0.8))
SHEATHING = THICKNESS.of("the thickness of a panel", 0.0, 0.3, (0.004, 0.06))
OPTIONAL_PANEL = EXTENT.of("the thickness of a panel or strip", 0.0, 0.3, (0.004, 0.06))
LUMBER = THICKNESS.of("the thickness of lumber", 0.0, 0.5, (0.015, 0.12))
PLATE_WIDTH = THICKNESS.of("the width of a plate", 0.0, 1.0, (0.06, 0.35))
JOIST = THICKNESS.of("the depth of joists", 0.0, 1.5, (0.1, 0.5))
FRAME = EXTENT.of("the depth of a frame wall", 0.0, 1.0, (0.035, 0.35))
PIPE = THICKNESS.of("the size of a drain", 0.0, 1.0, (0.04, 0.3))
STONE = THICKNESS.of("a width of stone", 0.0, 10.0, (0.05, 2.0))
STONE_COVER = EXTENT.of("a thickness of stone", 0.0, 10.0, (0.03, 2.0))
STRIP = THICKNESS.of("a width of ground", 0.0, 50.0, (0.1, 10.0))
OPTIONAL_STRIP = EXTENT.of("a width of ground", 0.0, 50.0, (0.1, 10.0))
CAP = EXTENT.of("the thickness of a cap", 0.0, 5.0, (0.05, 1.0))
BURIAL = THICKNESS.of("a depth below grade", 0.0, 5.0, (0.1, 1.5))
REACH = EXTENT.of("how far a layer reaches", 0.0, 15.0, (0.1, 5.0))
LAP = THICKNESS.of("a lap", 0.0, 3.0, (0.02, 0.6))
TURN_UP = EXTENT.of("a height on the wall", 0.0, 5.0, (0.03, 1.0))
EARTH = EXTENT.of("a height of earth", 0.0, 5.0, (0.03, 1.0))
FOOT = THICKNESS.of("the height of the drawn foot of a wall", 0.0, 5.0, (0.1, 1.5))
GROUND = THICKNESS.of("an extent of the ground", 0.0, 500.0, (2.0, 60.0))
GAP = EXTENT.of("the width of a gap", 0.0, 50.0, (1e-3, 0.15))
JOINT = EXTENT.of("the width of a joint", 0.0, 0.2, (1e-5, 0.03), examples='0, 0.002, "1/16 in" or "2 mm"')
STACK = LENGTH.of("a height above where pressures balance", -100.0, 100.0, (-10.0, 15.0))
VENT_HEIGHT = EXTENT.of("a height between openings", 0.0, 20.0, (0.05, 4.0))
ROOF = EXTENT.of("the depth of a roof", 0.0, 200.0, (0.3, 20.0))
HOUSE = EXTENT.of("the height of a house", 0.0, 300.0, (2.0, 30.0))
RAINED_ON = EXTENT.of("a height of wall", 0.0, 300.0, (0.3, 12.0))
RAIN_HEIGHT = THICKNESS.of("a height above ground", 0.0, 300.0, (0.3, 30.0))
SPLASH = THICKNESS.of("a height of splash", 0.0, 5.0, (0.05, 1.0))
ROOTS = THICKNESS.of("a depth of roots", 0.0, 10.0, (0.05, 2.0))
WATER_TABLE = LENGTH.of("the depth of the water table below grade", -5.0, 200.0, (0.3, 60.0))
FINEST = THICKNESS.of("a size of cells", 1e-5, 1.0, (1e-3, 0.1), open_low=False)
COARSEST = THICKNESS.of("a size of cells", 1e-3, 100.0, (0.05, 5.0), open_low=False)

# temperatures [degC] and their differences [K]
TEMPERATURE = Kind("a temperature", "degC", _WARM, -90.0, 90.0, (-50.0, 60.0))
INDOOR_WARMTH = TEMPERATURE.of("the temperature of indoor air", -40.0, 60.0, (-10.0, 40.0))
SET_POINT = TEMPERATURE.of("the set point of a heater", -40.0, 60.0, (2.0, 30.0))
FLOOD_WARMTH = TEMPERATURE.of("the temperature of water", 0.0, 90.0, (0.0, 30.0))
GROUND_WARMTH = TEMPERATURE.of("the mean temperature of the ground", -40.0, 60.0, (-5.0, 30.0))
SNOW_WARMTH = TEMPERATURE.of(
    "the temperature below which it snows", -20.0, 20.0, (-3.0, 5.0), examples='1, "1 degC" or "34 degF"'
)
DIFFERENCE = Kind("a temperature difference", "K", '10, "10 K" or "18 degF"', 0.0, 100.0, (0.0, 50.0), difference=True)
AMPLITUDE = DIFFERENCE.of("the amplitude of a yearly wave", 0.0, 50.0, (0.5, 25.0))
WARMING = Kind("a difference of temperature", "K", '2, "2 K" or "4 degF"', -30.0, 30.0, (-10.0, 10.0), difference=True)
ERROR_WARMTH = Kind(
    "a wanted error of temperature", "K", _APART, 1e-6, 20.0, (1e-3, 1.0), difference=True
)  # fmt: skip
SETTLED_WARMTH = ERROR_WARMTH.of("a change from year to year", 1e-6, 20.0, (1e-3, 2.0))

# shares [-]
FRACTION = Kind("a share", "1", _SHARE, 0.0, 1.0, (0.0, 1.0))
HUMIDITY = Kind("a relative humidity", "1", _SHARE, 0.0, 1.0, (0.05, 1.0), open_low=True)
ERROR_SHARE = Kind("a wanted error", "1", '0.01 or "1 %"', 1e-7, 1.0, (1e-4, 0.1))
SETTLED_SHARE = ERROR_SHARE.of("a change from year to year", 1e-7, 1.0, (1e-4, 0.1))
VENT_RATIO = FRACTION.of(
    "a vent area over a floor area", 0.0, 1.0, (1e-4, 0.05), examples='0.0067, "1:150" or "0.67 %"'
)
LEAK_SHARE = FRACTION.of("a share of the rain", 0.0, 1.0, (1e-3, 0.3))

# heat, vapour, water, air
SD = Kind(
    "an equivalent air-layer thickness or a permeance", "m", '50, "50 m", "0.1 perm" or "6 ng/(Pa s m2)"',
    0.0, 1e6, (5e-4, 1e4), readings=SD_READINGS,
)  # fmt: skip
RESISTANCE = Kind("a thermal resistance", "m^2*K/W", '1.76, "1.76 m^2*K/W" or "R-10"', 0.0, 100.0, (1e-4, 10.0))
COVER_RESISTANCE = RESISTANCE.of("the thermal resistance of a cover", 0.0, 100.0, (0.01, 3.0))
SHEET_RESISTANCE = RESISTANCE.of("the thermal resistance of a membrane", 0.0, 100.0, (1e-4, 1.0))
SUCTION = Kind("a suction of zero or more", "Pa", '33000, "33 kPa" or "0.33 bar"', 0.0, 1e9, (1e3, 2e6))
DIFFUSIVITY = Kind("a thermal diffusivity", "m^2/day", '0.05 or "0.6 mm^2/s"', 0.0, 10.0, (0.008, 0.2), open_low=True)
MONTH_RAIN = Kind("the rain of a month", "mm", '75, "75 mm" or "3 in"', 0.0, 10000.0, (0.0, 800.0))
RAINFALL = Kind("a yearly rainfall", "mm", '800, "800 mm" or "32 in"', 0.0, 20000.0, (50.0, 5000.0))
ANGLE = Kind("an angle", "degree", '180, "180 deg" or "south"', 0.0, 360.0, (0.0, 360.0))
ELEVATION = ANGLE.of("an elevation", 0.0, 89.9, (0.0, 60.0), examples='20 or "20 deg"')
AIR_CHANGE = Kind("an air change of zero or more", "1/hour", '0.3 or "0.3 1/hour"', 0.0, 1e4, (1e-3, 30.0))
FLOW_PER_AREA = Kind(
    "an air flow per floor area", "m/s", '1e-4, "0.1 L/s/m^2" or "0.02 cfm/ft2"', 0.0, 1.0, (1e-6, 0.01)
)
AIR_FLOW = Kind(
    "an air flow per metre of section", "m^2/s",
    '1e-4, "0.1 L/s/m" or "0.5 cfm/ft"; negative from to to from', -10.0, 10.0, (-0.05, 0.05), readings={},
)  # fmt: skip
POWER = Kind("a power per metre of section", "W/m", '30, "30 W/m" or "31 Btu/h/ft"', 0.0, 1e6, (0.1, 5000.0))
WATER_RATE = Kind(
    "a water rate per floor area",
    "kg/m^2/day",
    '0.36, "0.36 kg/m^2/day" or "0.009 gal/ft2/day"',
    0.0,
    1e4,
    (0.005, 10.0),
)
WATER_FLOW = Kind(
    "water per metre of section and day",
    "kg/m/day",
    '0.5, "0.5 kg/m/day" or "0.04 gal/ft/day"',
    0.0,
    1e5,
    (1e-3, 100.0),
)
AMOUNT = Kind("an amount of water per metre", "kg/m", '5, "5 kg/m" or "0.4 gal/ft"', 0.0, 1e6, (1e-3, 5e3))

# times
DURATION = Kind("a duration", "hour", '168, "1 week" or "12 hour"', 0.0, 876_000.0, (1.0, 8784.0), open_low=True)
STEP = Kind("a duration", "s", '60, "60 s" or "5 min"', 0.0, 1e7, (1e-3, 86400.0), open_low=True)
RESOLVED = STEP.of("a duration", 0.0, 86400.0, (0.1, 3600.0))
SHORTEST = STEP.of("a shortest step", 1e-9, 3600.0, (1e-5, 60.0), open_low=False)
LONGEST = STEP.of("a longest step", 1.0, 86400.0, (30.0, 3600.0), open_low=False)

# plain numbers; whole ones are counts
YEARS = Kind("a length of the run in years", "", "", 0.0, 100.0, (1e-4, 30.0), open_low=True)
GROWTH = Kind("a ratio of neighbouring cells", "", "", 1.0, 3.0, (1.05, 2.5), open_low=True)
CELLS = Kind("a number of cells", "", "", 1, 50, (1, 20), whole=True)
SETTLING = Kind("a number of years", "", "", 0, 100, (0, 30), whole=True)
SETTLE_MOST = SETTLING.of("a number of years", 2, 100, (2, 50))
HUMIDITY_CLASS = Kind("a humidity class", "", "", 1, 5, (1, 5), whole=True)
VAPOUR_EXCESS = Kind("a vapour pressure in Pa", "", "", 0.0, 5000.0, (50.0, 2500.0))
RAIN_FACTOR = Kind("a factor on the rain", "", "", 0.0, 20.0, (0.5, 2.0))
CALENDAR_YEAR = Kind("a calendar year", "", "", 1700, 2250, (1900, 2150), whole=True)
MARGIN = Kind("a factor", "", "", 1.0, 2.0, (1.0, 1.5))
EXPOSURE = Kind("an exposure factor", "", "", 0.0, 3.0, (0.5, 1.5))
TOPOGRAPHY = Kind("a topography factor", "", "", 0.0, 3.0, (0.8, 1.6), open_low=True)
LEAF_AREA = Kind("a leaf area index", "", "", 0.0, 12.0, (0.5, 6.0))
DEGREE_DAY = Kind("a melt in mm/(K d)", "", "", 0.0, 50.0, (0.5, 10.0), open_low=True)
SNOW_DENSITY = Kind("a density of snow in kg/m3", "", "", 0.0, 920.0, (30.0, 600.0), open_low=True)
ENERGY_FACTOR = Kind("litres of water per kWh", "", "", 0.0, 20.0, (0.5, 6.0), open_low=True)
DAY_OF_YEAR = Kind("a day of the year", "", "", 1, 366, (1, 366), whole=True)
HOURS = Kind("a number of hours", "", "", 1, 876_000, (1, 8784), whole=True)
START_HOUR = Kind("an hour of the run", "", "", 0, 876_000, (0, 876_000), whole=True)
REPEAT_DAYS = Kind("a number of days", "", "", 0, 36_600, (1, 3660), whole=True)
GAP_HOURS = Kind("a number of hours", "", "", 0, 8784, (1, 72), whole=True)
SEED = Kind("a seed", "", "", 0, 2**32 - 1, (0, 2**32 - 1), whole=True)
DRAWS = Kind("a number of draws", "", "", 1, 10_000, (1, 10_000), whole=True)
WEIGHT = Kind("a weight", "", "", 0.0, 1e9, (1e-6, 1e6), open_low=True)

Position: TypeAlias = Annotated[float, reader(POSITION)]
WallThickness: TypeAlias = Annotated[float, reader(WALL)]
AboveGrade: TypeAlias = Annotated[float, reader(ABOVE_GRADE)]
ShallowDepth: TypeAlias = Annotated[float, reader(SHALLOW)]
DeepDepth: TypeAlias = Annotated[float, reader(DEEP)]
FootingWidth: TypeAlias = Annotated[float, reader(FOOTING_WIDTH)]
FootingHeight: TypeAlias = Annotated[float, reader(FOOTING_HEIGHT)]
HalfWidth: TypeAlias = Annotated[float, reader(HALF_WIDTH)]
BoardThickness: TypeAlias = Annotated[float, reader(BOARD)]
OptionalBoard: TypeAlias = Annotated[float, reader(OPTIONAL_BOARD)]
SlabThickness: TypeAlias = Annotated[float, reader(SLAB)]
BaseThickness: TypeAlias = Annotated[float, reader(BASE)]
OptionalBase: TypeAlias = Annotated[float, reader(OPTIONAL_BASE)]
SheathingThickness: TypeAlias = Annotated[float, reader(SHEATHING)]
OptionalPanel: TypeAlias = Annotated[float, reader(OPTIONAL_PANEL)]
LumberThickness: TypeAlias = Annotated[float, reader(LUMBER)]
PlateWidth: TypeAlias = Annotated[float, reader(PLATE_WIDTH)]
JoistDepth: TypeAlias = Annotated[float, reader(JOIST)]
FrameDepth: TypeAlias = Annotated[float, reader(FRAME)]
PipeSize: TypeAlias = Annotated[float, reader(PIPE)]
StoneWidth: TypeAlias = Annotated[float, reader(STONE)]
StoneCover: TypeAlias = Annotated[float, reader(STONE_COVER)]
StripWidth: TypeAlias = Annotated[float, reader(STRIP)]
OptionalStrip: TypeAlias = Annotated[float, reader(OPTIONAL_STRIP)]
CapThickness: TypeAlias = Annotated[float, reader(CAP)]
Burial: TypeAlias = Annotated[float, reader(BURIAL)]
Reach: TypeAlias = Annotated[float, reader(REACH)]
Lap: TypeAlias = Annotated[float, reader(LAP)]
TurnUp: TypeAlias = Annotated[float, reader(TURN_UP)]
EarthHeight: TypeAlias = Annotated[float, reader(EARTH)]
FootHeight: TypeAlias = Annotated[float, reader(FOOT)]
GroundExtent: TypeAlias = Annotated[float, reader(GROUND)]
Gap: TypeAlias = Annotated[float, reader(GAP)]
Joint: TypeAlias = Annotated[float, reader(JOINT)]
StackHeight: TypeAlias = Annotated[float, reader(STACK)]
VentHeight: TypeAlias = Annotated[float, reader(VENT_HEIGHT)]
RoofDepth: TypeAlias = Annotated[float, reader(ROOF)]
HouseHeight: TypeAlias = Annotated[float, reader(HOUSE)]
RainedOn: TypeAlias = Annotated[float, reader(RAINED_ON)]
RainHeight: TypeAlias = Annotated[float, reader(RAIN_HEIGHT)]
RootDepth: TypeAlias = Annotated[float, reader(ROOTS)]
SplashHeight: TypeAlias = Annotated[float, reader(SPLASH)]
FinestCell: TypeAlias = Annotated[float, reader(FINEST)]
CoarsestCell: TypeAlias = Annotated[float, reader(COARSEST)]

IndoorTemperature: TypeAlias = Annotated[float, reader(INDOOR_WARMTH)]
SetPoint: TypeAlias = Annotated[float, reader(SET_POINT)]
FloodTemperature: TypeAlias = Annotated[float, reader(FLOOD_WARMTH)]
GroundTemperature: TypeAlias = Annotated[float, reader(GROUND_WARMTH)]
SnowTemperature: TypeAlias = Annotated[float, reader(SNOW_WARMTH)]
Amplitude: TypeAlias = Annotated[float, reader(AMPLITUDE)]
TemperatureError: TypeAlias = Annotated[float, reader(ERROR_WARMTH)]
SettledTemperature: TypeAlias = Annotated[float, reader(SETTLED_WARMTH)]

Fraction: TypeAlias = Annotated[float, reader(FRACTION)]
Humidity: TypeAlias = Annotated[float, reader(HUMIDITY)]
ShareError: TypeAlias = Annotated[float, reader(ERROR_SHARE)]
SettledShare: TypeAlias = Annotated[float, reader(SETTLED_SHARE)]
VentRatio: TypeAlias = Annotated[float, reader(VENT_RATIO)]
LeakShare: TypeAlias = Annotated[float, reader(LEAK_SHARE)]

SdValue: TypeAlias = Annotated[float, reader(SD)]
CoverResistance: TypeAlias = Annotated[float, reader(COVER_RESISTANCE)]
SheetResistance: TypeAlias = Annotated[float, reader(SHEET_RESISTANCE)]
Suction: TypeAlias = Annotated[float, reader(SUCTION)]
Diffusivity: TypeAlias = Annotated[float, reader(DIFFUSIVITY)]
MonthRain: TypeAlias = Annotated[float, reader(MONTH_RAIN)]
Warming: TypeAlias = Annotated[float, reader(WARMING)]
Rainfall: TypeAlias = Annotated[float, reader(RAINFALL)]
Angle: TypeAlias = Annotated[float, reader(ANGLE)]
Elevation: TypeAlias = Annotated[float, reader(ELEVATION)]
AirChange: TypeAlias = Annotated[float, reader(AIR_CHANGE)]
FlowPerArea: TypeAlias = Annotated[float, reader(FLOW_PER_AREA)]
AirFlow: TypeAlias = Annotated[float, reader(AIR_FLOW)]
Power: TypeAlias = Annotated[float, reader(POWER)]
WaterRate: TypeAlias = Annotated[float, reader(WATER_RATE)]
WaterFlow: TypeAlias = Annotated[float, reader(WATER_FLOW)]
Amount: TypeAlias = Annotated[float, reader(AMOUNT)]

Duration: TypeAlias = Annotated[float, reader(DURATION)]
ResolvedTime: TypeAlias = Annotated[float, reader(RESOLVED)]
ShortestStep: TypeAlias = Annotated[float, reader(SHORTEST)]
LongestStep: TypeAlias = Annotated[float, reader(LONGEST)]

Years: TypeAlias = Annotated[float, Quantity(YEARS)]
Growth: TypeAlias = Annotated[float, Quantity(GROWTH)]
Cells: TypeAlias = Annotated[int, Quantity(CELLS)]
SettleMost: TypeAlias = Annotated[int, Quantity(SETTLE_MOST)]
HumidityClass: TypeAlias = Annotated[int, Quantity(HUMIDITY_CLASS)]
VapourExcess: TypeAlias = Annotated[float, Quantity(VAPOUR_EXCESS)]
RainFactor: TypeAlias = Annotated[float, Quantity(RAIN_FACTOR)]
CalendarYear: TypeAlias = Annotated[int, Quantity(CALENDAR_YEAR)]
Margin: TypeAlias = Annotated[float, Quantity(MARGIN)]
Exposure: TypeAlias = Annotated[float, Quantity(EXPOSURE)]
Topography: TypeAlias = Annotated[float, Quantity(TOPOGRAPHY)]
LeafArea: TypeAlias = Annotated[float, Quantity(LEAF_AREA)]
DegreeDay: TypeAlias = Annotated[float, Quantity(DEGREE_DAY)]
SnowDensity: TypeAlias = Annotated[float, Quantity(SNOW_DENSITY)]
EnergyFactor: TypeAlias = Annotated[float, Quantity(ENERGY_FACTOR)]
DayOfYear: TypeAlias = Annotated[int, Quantity(DAY_OF_YEAR)]
Hours: TypeAlias = Annotated[int, Quantity(HOURS)]
StartHour: TypeAlias = Annotated[int, Quantity(START_HOUR)]
RepeatDays: TypeAlias = Annotated[int, Quantity(REPEAT_DAYS)]
GapHours: TypeAlias = Annotated[int, Quantity(GAP_HOURS)]
Seed: TypeAlias = Annotated[int, Quantity(SEED)]
Draws: TypeAlias = Annotated[int, Quantity(DRAWS)]
Weight: TypeAlias = Annotated[float, Quantity(WEIGHT)]
