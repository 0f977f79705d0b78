"""From the written form of a material to a `Material`, reporting all errors at once."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from typing import Any, TypeVar

import numpy as np
from pydantic import ValidationError

from stemwall.materials import liquid, retention, schema, storage, thermal, transport, vapour
from stemwall.materials import schema_moisture as moisture
from stemwall.materials.material import Frost, Material, MembraneProduct, Provenance, Surface
from stemwall.materials.problems import MaterialError, Problem
from stemwall.materials.schema_common import BANDS, Origin, Sourced, Spec
from stemwall.materials.water import AIR_PERMEABILITY

#: what the id of a wood ends with where it is meant along its grain
ALONG = ".along"
_SpecT = TypeVar("_SpecT", bound=Spec)
_BuiltT = TypeVar("_BuiltT")


def parse(spec: type[_SpecT], key: str, mapping: object) -> _SpecT:
    """Validated written form.

    Raises
    ------
    MaterialError
        With every problem found.
    """
    try:
        return spec.model_validate(dict(mapping) if isinstance(mapping, Mapping) else mapping)
    except ValidationError as error:
        raise MaterialError([_problem(key, spec, dict(item)) for item in error.errors()]) from None


def _problem(key: str, spec: type[Any], item: Mapping[str, Any]) -> Problem:
    location = [str(part) for part in item["loc"]]
    message = str(item["msg"]).removeprefix("Value error, ").removeprefix("Input should be ")
    if item["type"] == "missing":
        return Problem(".".join([key, *location]), "nothing", "a value (the entry is required)")
    if item["type"] == "extra_forbidden":
        return Problem(".".join([key, *location]), "an unknown entry", "a known entry of this table")
    found = repr(item.get("input"))
    return Problem(".".join([key, *location]), found if len(found) < 80 else found[:77] + "...", message)


def merged(base: Mapping[str, Any], changes: Mapping[str, Any]) -> dict[str, Any]:
    """Written form with changes: tables are merged unless their `kind` changes."""
    result = dict(base)
    for name, value in changes.items():
        old = result.get(name)
        scalar = isinstance(old, Mapping) and "value" in old and isinstance(value, int | float)
        if scalar:
            value = {"value": value}
        elif isinstance(old, Mapping) and isinstance(value, Mapping) and _same_kind(old, value):
            value = {**(old if set(value) == {"service"} else _numbers(old)), **value}
        result[name] = value
    return result


def _same_kind(old: Mapping[str, Any], new: Mapping[str, Any]) -> bool:
    return bool(new.get("kind", old.get("kind")) == old.get("kind"))


def _numbers(table: Mapping[str, Any]) -> dict[str, Any]:
    """A property table without its provenance, which does not survive a change."""
    return {name: value for name, value in table.items() if name not in Provenance.__dataclass_fields__}


def _retention(spec: moisture.StorageSpec, density: float) -> storage.RetentionCurve:
    match spec:
        case moisture.SorptionSpec():
            water = storage.scaled(spec.water, spec.saturation, spec.scale)
            return storage.sorption_curve(spec.humidity, water, spec.saturation, spec.filling)
        case moisture.OpenPoresSpec():
            water = storage.scaled(spec.water, spec.saturation, spec.scale)
            sorbed = water[-1] + 0.5 * (water[-1] - water[-2])
            return retention.OpenPores(
                storage.sorption_curve(spec.humidity, water, sorbed), spec.saturation, spec.entry
            )
        case moisture.ClosedCellsSpec():
            water = storage.scaled(spec.water, spec.limit, spec.scale)
            sorbed = min(water[-1] + 0.5 * (water[-1] - water[-2]), spec.limit)
            return retention.OpenPores(storage.sorption_curve(spec.humidity, water, sorbed), spec.limit, spec.entry)
        case moisture.VanGenuchtenSpec():
            return retention.VanGenuchten.soil(spec.theta_r, spec.theta_s, spec.alpha, spec.n, spec.air_entry)
        case moisture.ModesSpec():
            modes = tuple(retention.Mode(mode.weight, mode.alpha, mode.n, mode.m) for mode in spec.modes)
            return retention.VanGenuchten(spec.saturation, spec.residual, modes, junction=spec.junction)
        case moisture.WoodSpec():
            return storage.wood_curve(density, spec.saturation, spec.scale)
        case moisture.HyperbolaSpec():
            return storage.Hyperbola.through(spec.water_80, spec.saturation)
        case moisture.PowerHyperbolaSpec():
            return storage.power_hyperbola(spec.water_50, spec.water_80, spec.saturation)
        case moisture.RetentionTableSpec():
            water = storage.scaled(spec.water, spec.water[0], spec.scale)
            return storage.TabulatedRetention(tuple(spec.suction), tuple(water), spec.filling)


def _liquid(spec: schema.MaterialSpec, store: storage.Storage) -> liquid.LiquidModel:
    """Law of liquid flow that needs no knowledge of vapour."""
    match spec.liquid:
        case None | moisture.NoLiquidSpec():
            return liquid.NoLiquid()
        case moisture.MualemSpec():
            curve = store.curve
            if not isinstance(curve, retention.VanGenuchten) or len(curve.modes) != 1:
                raise ValueError("a van-genuchten storage to go with kind = 'mualem'")
            mode = curve.modes[0]
            return liquid.Mualem(spec.liquid.saturated, mode.alpha, mode.n, curve.air_entry, spec.liquid.connectivity)
        case moisture.AbsorptionSpec(long_term=moisture.LongTermSpec() as lasting):
            return liquid.LongTerm(lasting.saturated, lasting.entry)
        case moisture.DiffusivitySpec():
            return liquid.ConstantDiffusivity(spec.liquid.value)
        case moisture.PolynomialSpec():
            return liquid.LogPolynomial(tuple(spec.liquid.coefficients), spec.liquid.centre)
        case moisture.GardnerSpec():
            head = liquid.soil_conductivity(spec.liquid.saturated, spec.liquid.alpha, 2.0, 0.0)
            return liquid.Gardner(head.saturated, head.alpha)
        case moisture.LiquidTableSpec():
            _same_length(spec.liquid.suction, spec.liquid.conductivity)
            return liquid.TabulatedLiquid(tuple(spec.liquid.suction), tuple(spec.liquid.conductivity))
    raise AssertionError(spec.liquid)


def _cups(spec: moisture.VapourSpec) -> list[vapour.Cup]:
    """Cup tests of a written vapour law; none of other kinds."""
    if not isinstance(spec, moisture.CupsSpec):
        return []
    if spec.mu_dry is not None and spec.mu_wet is not None:
        pairs = [(vapour.DRY_CUP, spec.mu_dry), (vapour.WET_CUP, spec.mu_wet)]
        cups = [vapour.Cup(low, high, AIR_PERMEABILITY / mu) for (low, high), mu in pairs]
    else:
        cups = [
            vapour.Cup(cup.low, cup.high, AIR_PERMEABILITY / cup.mu, cup.temperature)
            if cup.mu is not None
            else vapour.Cup.of_permeance(cup.low, cup.high, cup.permeance or 0.0, cup.thickness or 0.0, cup.temperature)
            for cup in spec.cups
        ]
    return [replace(cup, delta=cup.delta / spec.scale) for cup in cups]


def _power(spec: moisture.VapourSpec) -> float:
    """Power of humidity between two cups; of no account elsewhere."""
    return spec.power if isinstance(spec, moisture.CupsSpec) else 1.0


def _vapour(
    spec: schema.MaterialSpec, porosity: float, flow: liquid.LiquidModel, store: storage.Storage
) -> vapour.VapourModel:
    """Vapour law, beside a liquid law where cups measured both."""
    match spec.vapour:
        case moisture.MuSpec():
            return vapour.ConstantVapour.from_resistance_factor(spec.vapour.mu)
        case moisture.CupsSpec():
            return transport.vapour_beside(flow, store, _cups(spec.vapour), spec.vapour.power)
        case moisture.GasSpec():
            return vapour.MillingtonQuirk(porosity)
        case moisture.AirFilledSpec():
            return vapour.AirFilledPores(spec.vapour.dry, spec.vapour.saturation, spec.vapour.shape)
        case moisture.VapourTableSpec():
            _same_length(spec.vapour.humidity, spec.vapour.delta)
            return vapour.TabulatedVapour(tuple(spec.vapour.humidity), tuple(spec.vapour.delta))


def _conductivity(spec: schema.ConductivitySpec, density: float, porosity: float) -> thermal.ConductivityModel:
    match spec:
        case schema.LinearSpec():
            return thermal.LinearConductivity(spec.dry, spec.per_water)
        case schema.ConversionSpec():
            limit = float("inf") if spec.limit is None else spec.limit
            bounds = (spec.solids or 0.0, porosity, limit, spec.service_water)
            return thermal.MoistConductivity(spec.dry, spec.kind, spec.conversion, density, *bounds)
        case schema.WoodConductivitySpec():
            return thermal.WoodConductivity(density, spec.dry, spec.grain, spec.per_moisture)
        case schema.SoilConductivitySpec():
            solids = spec.solids
            if solids is None:
                solids = thermal.solids_conductivity(spec.quartz or 0.0)
            return thermal.SoilConductivity(porosity, solids, spec.chi, spec.eta, spec.kappa)
        case schema.ConductivityTableSpec():
            _same_length(spec.water, spec.value)
            values = tuple(spec.scale * value for value in spec.value)
            return thermal.TabulatedConductivity(tuple(spec.water), values)


def _temperature(spec: schema.ConductivitySpec, model: thermal.ConductivityModel) -> thermal.TemperatureFactor:
    if spec.slope is not None:
        dry = float(model.conductivity(np.zeros(1))[0])
        return thermal.TemperatureFactor.linear(spec.slope, dry, spec.mean)
    return thermal.TemperatureFactor(tuple(spec.temperature), tuple(spec.factor))


def _same_length(first: list[float], second: list[float]) -> None:
    if len(first) != len(second):
        raise ValueError(f"lists of the same length, not {len(first)} and {len(second)}")


class _Builder:
    """Builds the parts of one material and keeps the problems."""

    def __init__(self, key: str) -> None:
        self.key = key
        self.problems: list[Problem] = []

    def part(self, place: str, build: Callable[[], _BuiltT]) -> _BuiltT | None:
        """The part, or None with a problem recorded."""
        try:
            return build()
        except ValueError as error:
            self.problems.append(Problem(f"{self.key}.{place}", "inconsistent values", str(error)))
            return None


def _laws(
    builder: _Builder, spec: schema.MaterialSpec, porosity: float, store: storage.Storage
) -> tuple[liquid.LiquidModel | None, vapour.VapourModel | None]:
    """Laws of liquid and vapour: each by itself, or fitted together where tests measured both."""
    absorbing, cups = spec.liquid, _cups(spec.vapour)
    if not isinstance(absorbing, moisture.AbsorptionSpec) or absorbing.law == "long-term":
        flow = builder.part("liquid", lambda: _liquid(spec, store))
        return flow, builder.part("vapour", lambda: _vapour(spec, porosity, flow or liquid.NoLiquid(), store))
    alone = builder.part("vapour", lambda: _vapour(spec, porosity, liquid.NoLiquid(), store))
    if alone is None:
        return None, None
    fitted = builder.part(
        "liquid", lambda: transport.fit_uptake(store, absorbing.coefficient, alone, cups, _power(spec.vapour))
    )
    return fitted or (None, None)


def material_from_spec(key: str, spec: schema.MaterialSpec) -> Material:
    """Material of a validated written form; raises `MaterialError` with every problem."""
    density, builder = spec.density.value, _Builder(key)
    curve = builder.part("storage", lambda: _retention(spec.storage, density))
    if curve is None:
        raise MaterialError(builder.problems)
    store = storage.Storage(curve, spec.storage.compressibility)
    porosity = spec.porosity.value if spec.porosity else store.saturation / 1000.0
    flow, delta = _laws(builder, spec, porosity, store)
    heat = builder.part("conductivity", lambda: _conductivity(spec.conductivity, density, porosity))
    if flow is None or delta is None or heat is None or builder.problems:
        raise MaterialError(builder.problems)
    return Material(
        id=key,
        name=spec.name,
        group=spec.group,
        hatch=spec.hatch,
        density=density,
        specific_heat=spec.specific_heat.value,
        storage=store,
        liquid=flow,
        vapour=delta,
        conductivity=heat,
        temperature=_temperature(spec.conductivity, heat),
        liquid_service=spec.liquid.law if isinstance(spec.liquid, moisture.AbsorptionSpec) else None,
        viscous=spec.viscous,
        porosity=spec.porosity.value if spec.porosity else None,
        mould_class=spec.mould_class.value if spec.mould_class else None,
        surface=Surface(spec.surface.absorptance, spec.surface.emissivity),
        frost=_frost(spec),
        along=_along(key, spec),
        provenance=provenance(spec),
    )


def _along(key: str, spec: schema.MaterialSpec) -> Material | None:
    """The material along its grain; raises `MaterialError` with places below ``along``."""
    if spec.along is None:
        return None
    stated = {name: part for name in schema.AlongSpec.model_fields if (part := getattr(spec.along, name)) is not None}
    return material_from_spec(f"{key}{ALONG}", spec.model_copy(update={**stated, "along": None}))


def _frost(spec: schema.MaterialSpec) -> Frost:
    frozen = spec.conductivity.kappa_frozen if isinstance(spec.conductivity, schema.SoilConductivitySpec) else None
    return Frost(frozen, spec.frost.critical_saturation, spec.frost.group)


def membrane_from_spec(key: str, spec: schema.MembraneSpec) -> MembraneProduct:
    """Membrane of a validated written form."""
    return MembraneProduct(
        id=key,
        name=spec.name,
        group=spec.group,
        sd_dry=spec.sd.scale * spec.sd.dry,
        sd_wet=spec.sd.scale * spec.sd.wet,
        liquid=spec.liquid,
        thermal_resistance=spec.thermal_resistance.value if spec.thermal_resistance else 0.0,
        thickness=spec.thickness,
        mould_class=spec.mould_class.value if spec.mould_class else None,
        provenance=provenance(spec),
    )


def provenance(spec: schema.MaterialSpec | schema.MembraneSpec) -> dict[str, Provenance]:
    """Provenance of every property that is given, and of each of its numbers by ``property.number``."""
    found: dict[str, Provenance] = {}
    for place, part in properties(spec):
        found[place] = part.provenance
        for name in part.model_fields_set:
            value = getattr(part, name)
            if isinstance(value, float | int | list) and not isinstance(value, bool) and name not in BANDS:
                found[f"{place}.{name}"] = part.provenance_of(name)
    return found


def properties(spec: Spec, place: str = "") -> Iterator[tuple[str, Sourced]]:
    """Every property that is given, with its place; those within others behind them."""
    for name in type(spec).model_fields:
        part = getattr(spec, name) if name in spec.model_fields_set else None
        if isinstance(part, Spec) and not isinstance(part, Origin):
            if isinstance(part, Sourced):
                yield f"{place}{name}", part
            yield from properties(part, f"{place}{name}.")
