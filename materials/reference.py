"""Reference materials of standards and of verification, in closed form.

References
----------
.. [1] EN 15026:2007, Annex A.
.. [2] Hagentoft, C.-E., et al. (2004), J. Thermal Envelope Build. Sci. 27, 327-352.
"""

from stemwall.materials.liquid import ConstantDiffusivity, Gardner, LogPolynomial, NoLiquid
from stemwall.materials.material import Material
from stemwall.materials.retention import Mode, VanGenuchten
from stemwall.materials.storage import LinearIsotherm, Storage
from stemwall.materials.thermal import LinearConductivity
from stemwall.materials.vapour import AirFilledPores, ConstantVapour
from stemwall.materials.water import GAS_CONSTANT, GRAVITY, REFERENCE_TEMPERATURE, WATER_DENSITY, ZERO_CELSIUS

_KELVIN = WATER_DENSITY * GAS_CONSTANT * (REFERENCE_TEMPERATURE + ZERO_CELSIUS)
_FREE_DIFFUSION = 26.1e-6 / (GAS_CONSTANT * (REFERENCE_TEMPERATURE + ZERO_CELSIUS))
"""Vapour permeability in air at 20 degC of EN 15026 Annex A [kg/(m s Pa)]; falls as 1/T."""


def en15026() -> Material:
    """Material of the uptake benchmark of EN 15026 Annex A [1]_ (constants recalled)."""
    return Material(
        id="en15026",
        name="EN 15026 Annex A",
        group="reference",
        density=1824.0,
        specific_heat=1000.0,
        storage=Storage(VanGenuchten(146.0, 0.0, (Mode(1.0, 8e-8, 1.6, 0.375),), junction=None)),
        liquid=LogPolynomial((-39.2619, 0.0704, -1.7420e-4, -2.7953e-6, -1.1566e-7, 2.5969e-9), 73.0),
        vapour=AirFilledPores(_FREE_DIFFUSION / 200.0, 146.0),
        conductivity=LinearConductivity(1.5, 15.8e-3),
        viscous=False,
        vapour_exponent=-1.0,
        hatch="concrete",
    )


def hamstad2() -> Material:
    """Material of the isothermal drying benchmark 2 [2]_ (constants recalled)."""
    curve = VanGenuchten(116.0, 0.0, (Mode(1.0, 1.0 / (0.118 * _KELVIN), 1.0, 0.869),), junction=None)
    return Material(
        id="hamstad2",
        name="Isothermal drying benchmark",
        group="reference",
        density=525.0,
        specific_heat=800.0,
        storage=Storage(curve),
        liquid=ConstantDiffusivity(6e-10),
        vapour=ConstantVapour(1e-15),
        conductivity=LinearConductivity(0.15),
        viscous=False,
        vapour_exponent=0.0,
        hatch="masonry",
    )


def two_layer_insulation() -> Material:
    """Insulation of the two-layer condensation case, without capillary flow."""
    return Material(
        id="two_layer_insulation",
        name="Insulation of the two-layer case",
        group="reference",
        density=73.8,
        specific_heat=1000.0,
        storage=Storage(VanGenuchten(900.0, 0.0, (Mode(1.0, 2e-4, 2.0, 0.5),), junction=None)),
        liquid=NoLiquid(),
        vapour=AirFilledPores(_FREE_DIFFUSION / 9.6, 900.0),
        conductivity=LinearConductivity(0.033, 0.59e-3),
        viscous=False,
        vapour_exponent=-1.0,
        hatch="insulation",
    )


def linear_vapour(delta: float = 2e-11, saturation: float = 50.0) -> Material:
    """Linear diffusion: delta [kg/(m s Pa)] constant, w = saturation phi [kg/m3]."""
    return Material(
        id="linear_vapour",
        name="Linear vapour diffusion",
        group="reference",
        density=1000.0,
        specific_heat=1000.0,
        storage=Storage(LinearIsotherm(saturation), 1e-12),
        vapour=ConstantVapour(delta),
        conductivity=LinearConductivity(1.0),
        viscous=False,
        vapour_exponent=0.0,
    )


def conductor(conductivity: float, heat_capacity: float = 1e6) -> Material:
    """Heat conduction only: lambda [W/(m K)] and rho c [J/(m3 K)], no vapour or liquid flow."""
    return Material(
        id="conductor",
        name="Conductor",
        group="reference",
        density=heat_capacity / 1000.0,
        specific_heat=1000.0,
        storage=Storage(LinearIsotherm(1e-3), 1e-12),
        vapour=ConstantVapour(0.0),
        conductivity=LinearConductivity(conductivity),
        viscous=False,
        vapour_exponent=0.0,
    )


def gardner_soil(saturated: float = 1e-6, alpha: float = 2.0) -> Material:
    """Soil with K = K_s exp(-alpha h): K_s [m/s], alpha [1/m]; loam retention."""
    return Material(
        id="gardner_soil",
        name="Exponential soil",
        group="reference",
        density=1511.0,
        specific_heat=730.0,
        storage=Storage(VanGenuchten.soil(0.078, 0.43, 3.6, 1.56), 1e-8),
        liquid=Gardner(saturated, alpha / (WATER_DENSITY * GRAVITY)),
        vapour=ConstantVapour(0.0),
        conductivity=LinearConductivity(1.5),
        viscous=False,
        vapour_exponent=0.0,
        hatch="soil",
    )
