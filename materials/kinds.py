"""The kinds of number in a written material: what each may be, and where it usually lies.

Limits are physical or numerical; beyond them a material is refused.  ``usual`` ranges hold what the catalogue holds
with some room (common practice, no source); what lies outside is asked about, since it may be meant.
"""

from typing import Annotated, TypeAlias

from stemwall.materials.ranges import Kind, Quantity

_ANY = 1e12
_PA = {"{} kPa": lambda number: 1e3 * number, "{} bar": lambda number: 1e5 * number}

BAND = Kind("a number", "", "", -_ANY, _ANY, (-_ANY, _ANY))
SHARE = Kind("a share", "m3/m3", "", 0.0, 1.0, (0.0, 1.0))
POSITIVE_SHARE = Kind("a share", "m3/m3", "", 0.0, 1.0, (1e-3, 1.0), open_low=True)
DENSITY = Kind("a dry density", "kg/m^3", "", 0.5, 25_000.0, (5.0, 3500.0))
PERCENT = Kind("a share in mass-%", "", "", 0.0, 100.0, (0.0, 100.0))
SOIL_DENSITY = Kind("a dry density of soil", "kg/m^3", "", 500.0, 2000.0, (1000.0, 1900.0))
SPECIFIC_HEAT = Kind("a specific heat", "J/(kg K)", "", 100.0, 10_000.0, (400.0, 3000.0))
POROSITY = Kind("a porosity", "m3/m3", "", 0.0, 1.0, (0.01, 1.0), open_low=True)

CONDUCTIVITY = Kind("a thermal conductivity", "W/(m K)", "", 1e-3, 500.0, (0.015, 5.0))
SOLIDS = Kind("a thermal conductivity of solids", "W/(m K)", "", 0.05, 50.0, (0.2, 9.0))
MOISTURE_LIMIT = Kind("a moisture content", "m3/m3", "", 0.0, 5.0, (0.05, 0.5), open_low=True)
PER_WATER = Kind("a growth in W m2/(K kg)", "", "", 0.0, 1.0, (1e-5, 0.02))
CONVERSION = Kind("a moisture conversion coefficient", "", "", 0.0, 100.0, (0.1, 20.0))
MEAN = Kind("a mean temperature", "degC", "", -100.0, 200.0, (-20.0, 50.0))
SLOPE = Kind("a growth in W/(m K2)", "", "", -0.1, 0.1, (-1e-3, 5e-3))
POINT_WARMTH = Kind("a temperature", "degC", "", -270.0, 1000.0, (-60.0, 120.0))
FACTOR = Kind("a factor", "", "", 0.0, 100.0, (0.2, 5.0), open_low=True)
PER_MOISTURE = Kind("a growth in W/(m K)", "", "", 0.0, 10.0, (0.05, 1.0), open_low=True)
CHI = Kind("a constant in W/(m K)", "", "", 0.0, 20.0, (0.1, 3.0), open_low=True)
EXPONENT = Kind("an exponent", "", "", 0.0, 20.0, (0.1, 6.0), open_low=True)
KAPPA = Kind("a shape", "", "", 0.0, 50.0, (0.1, 8.0), open_low=True)

SATURATION = Kind("a water content at zero suction", "kg/m3 of water", "", 0.0, 1000.0, (5.0, 1000.0), open_low=True)
WATER = Kind("a water content", "kg/m3 of water", "", 0.0, 1000.0, (1e-4, 1000.0))
SORBED_50 = Kind("a water content at 50 % RH", "kg/m3 of water", "", 0.0, 1000.0, (5e-3, 200.0), open_low=True)
SORBED_80 = Kind("a water content at 80 % RH", "kg/m3 of water", "", 0.0, 1000.0, (0.01, 300.0), open_low=True)
POINT_HUMIDITY = Kind("a relative humidity", "1", "", 0.0, 1.0, (0.0, 1.0))
POINT_SUCTION = Kind("a suction", "Pa", "", 0.0, 1e11, (0.0, 2e9))
FILLING = Kind("a suction", "Pa", "", 0.0, 1e10, (1.0, 1e8), open_low=True, readings=_PA)
COMPRESSIBILITY = Kind("a compressibility in 1/Pa", "", "", 0.0, 1e-3, (1e-12, 1e-5), open_low=True)
PER_HEAD = Kind("an inverse head", "1/m", "", 0.0, 1e4, (0.05, 300.0), open_low=True)
SHAPE = Kind("a shape n", "", "", 1.0, 50.0, (1.02, 12.0), open_low=True)
AIR_ENTRY = Kind("an air-entry head", "m", "", 0.0, 100.0, (1e-3, 3.0))
PER_SUCTION = Kind("an inverse suction in 1/Pa", "", "", 0.0, 10.0, (1e-10, 0.05), open_low=True)
MODE_SHAPE = Kind("a shape", "", "", 0.0, 200.0, (0.05, 20.0), open_low=True)

SATURATED = Kind("a hydraulic conductivity", "m/s of water", "", 0.0, 10.0, (1e-14, 0.1), open_low=True)
CONNECTIVITY = Kind("an exponent", "", "", -50.0, 50.0, (-10.0, 10.0))
ABSORPTION = Kind("a water absorption coefficient", "kg/(m2 s^0.5)", "", 0.0, 10.0, (1e-4, 1.3), open_low=True)
MOISTURE_DIFFUSIVITY = Kind("a moisture diffusivity", "m^2/s", "", 0.0, 0.1, (1e-15, 1e-4), open_low=True)
COEFFICIENT = Kind("a coefficient", "", "", -1e6, 1e6, (-1e3, 1e3))
LIQUID_K = Kind("a liquid conductivity in s", "", "", 0.0, 1.0, (1e-30, 1e-3), open_low=True)

MU = Kind("a vapour resistance factor", "", "", 0.0, 1e8, (0.05, 2e5), open_low=True)
CUP_TEMPERATURE = Kind("a temperature of a cup test", "degC", "", 0.0, 60.0, (10.0, 40.0))
PERMEANCE = Kind("a vapour permeance in kg/(m2 s Pa)", "", "", 0.0, 1e-5, (1e-15, 1e-8), open_low=True)
SPECIMEN = Kind("a thickness of a specimen", "m", "", 0.0, 1.0, (1e-4, 0.2), open_low=True)
POWER = Kind("a power", "", "", 0.0, 100.0, (0.5, 15.0), open_low=True)
PERMEABILITY = Kind("a vapour permeability in kg/(m s Pa)", "", "", 0.0, 1e-8, (1e-16, 2.1e-10), open_low=True)
SD = Kind("an equivalent air-layer thickness", "m", "", 0.0, 1e6, (1e-3, 5000.0), readings={})
RESISTANCE = Kind("a thermal resistance", "m^2*K/W", "", 0.0, 50.0, (1e-8, 3.0))
THICKNESS = Kind("a thickness of a membrane", "m", "", 0.0, 1.0, (1e-6, 0.05), open_low=True)

Band: TypeAlias = Annotated[float, Quantity(BAND)]
Share: TypeAlias = Annotated[float, Quantity(SHARE)]
PositiveShare: TypeAlias = Annotated[float, Quantity(POSITIVE_SHARE)]
Percent: TypeAlias = Annotated[float, Quantity(PERCENT)]
Density: TypeAlias = Annotated[float, Quantity(DENSITY)]
SoilDensity: TypeAlias = Annotated[float, Quantity(SOIL_DENSITY)]
SpecificHeat: TypeAlias = Annotated[float, Quantity(SPECIFIC_HEAT)]
Porosity: TypeAlias = Annotated[float, Quantity(POROSITY)]
Conductivity: TypeAlias = Annotated[float, Quantity(CONDUCTIVITY)]
Solids: TypeAlias = Annotated[float, Quantity(SOLIDS)]
MoistureLimit: TypeAlias = Annotated[float, Quantity(MOISTURE_LIMIT)]
PerWater: TypeAlias = Annotated[float, Quantity(PER_WATER)]
Conversion: TypeAlias = Annotated[float, Quantity(CONVERSION)]
Mean: TypeAlias = Annotated[float, Quantity(MEAN)]
Slope: TypeAlias = Annotated[float, Quantity(SLOPE)]
PointWarmth: TypeAlias = Annotated[float, Quantity(POINT_WARMTH)]
Factor: TypeAlias = Annotated[float, Quantity(FACTOR)]
PerMoisture: TypeAlias = Annotated[float, Quantity(PER_MOISTURE)]
Chi: TypeAlias = Annotated[float, Quantity(CHI)]
Exponent: TypeAlias = Annotated[float, Quantity(EXPONENT)]
Kappa: TypeAlias = Annotated[float, Quantity(KAPPA)]
Saturation: TypeAlias = Annotated[float, Quantity(SATURATION)]
Water: TypeAlias = Annotated[float, Quantity(WATER)]
Sorbed50: TypeAlias = Annotated[float, Quantity(SORBED_50)]
Sorbed80: TypeAlias = Annotated[float, Quantity(SORBED_80)]
PointHumidity: TypeAlias = Annotated[float, Quantity(POINT_HUMIDITY)]
PointSuction: TypeAlias = Annotated[float, Quantity(POINT_SUCTION)]
Filling: TypeAlias = Annotated[float, Quantity(FILLING)]
Compressibility: TypeAlias = Annotated[float, Quantity(COMPRESSIBILITY)]
PerHead: TypeAlias = Annotated[float, Quantity(PER_HEAD)]
Shape: TypeAlias = Annotated[float, Quantity(SHAPE)]
AirEntry: TypeAlias = Annotated[float, Quantity(AIR_ENTRY)]
PerSuction: TypeAlias = Annotated[float, Quantity(PER_SUCTION)]
ModeShape: TypeAlias = Annotated[float, Quantity(MODE_SHAPE)]
Saturated: TypeAlias = Annotated[float, Quantity(SATURATED)]
Connectivity: TypeAlias = Annotated[float, Quantity(CONNECTIVITY)]
Absorption: TypeAlias = Annotated[float, Quantity(ABSORPTION)]
MoistureDiffusivity: TypeAlias = Annotated[float, Quantity(MOISTURE_DIFFUSIVITY)]
Coefficient: TypeAlias = Annotated[float, Quantity(COEFFICIENT)]
LiquidK: TypeAlias = Annotated[float, Quantity(LIQUID_K)]
Mu: TypeAlias = Annotated[float, Quantity(MU)]
CupTemperature: TypeAlias = Annotated[float, Quantity(CUP_TEMPERATURE)]
Permeance: TypeAlias = Annotated[float, Quantity(PERMEANCE)]
Specimen: TypeAlias = Annotated[float, Quantity(SPECIMEN)]
Power: TypeAlias = Annotated[float, Quantity(POWER)]
Permeability: TypeAlias = Annotated[float, Quantity(PERMEABILITY)]
Sd: TypeAlias = Annotated[float, Quantity(SD)]
Resistance: TypeAlias = Annotated[float, Quantity(RESISTANCE)]
Thickness: TypeAlias = Annotated[float, Quantity(THICKNESS)]
