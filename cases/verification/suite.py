"""The verification suite: every case with its identifier, title and group, and a way to run them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from time import perf_counter

from stemwall.cases.verification.assessment import exposure, mould, mould_spells, wood
from stemwall.cases.verification.comparison import Comparison, NotRun
from stemwall.cases.verification.conduction import (
    finite_element_wall_heat,
    freezing,
    latent_heat,
    periodic,
    slab,
    steady,
    transient,
)
from stemwall.cases.verification.coupled import (
    air_flow,
    finite_element_wall_moisture,
    hamstad_inside_insulation,
    hamstad_roof,
    rain_on_wall,
    steady_wall,
    two_layer,
)
from stemwall.cases.verification.invariants import manufactured, maximum, orders, symmetry_and_rest
from stemwall.cases.verification.laboratory import cups, sorption
from stemwall.cases.verification.measured import concrete, crawlspace, crawlspace_summer, foam, frost, ground
from stemwall.cases.verification.measured import uptake as measured_uptake
from stemwall.cases.verification.moisture import edges, gravity, infiltration, recharge, uptake, vapour
from stemwall.cases.verification.rules_of_practice import checks
from stemwall.cases.verification.weather import air_properties, climate_loads, sun

CONDUCTION, MOISTURE, COUPLED, INVARIANTS = "Heat conduction", "Moisture", "Coupled", "Invariants"
CLIMATE, ASSESSMENT = "Air, sun and rain", "Assessment"
MEASURED, PRACTICE = "Measured", "Common practice"
LABORATORY = "Laboratory"


@dataclass(frozen=True)
class Case:
    """One verification case.

    Parameters
    ----------
    id : str
        Short identifier, stable.
    title : str
        What is run, for headings.
    group : str
        Heading it stands under.
    run : callable
        Runs it and returns its comparisons.
    slow : bool
        Takes more than some ten seconds.
    known : str
        Why it is known not to hold; it is shown not to hold all the same.
    """

    id: str
    title: str
    group: str
    run: Callable[[], list[Comparison]]
    slow: bool = False
    known: str = ""


@dataclass(frozen=True)
class Outcome:
    """A case that was run, and how long it took [s]; ``missing`` says why it could not be run."""

    case: Case
    comparisons: tuple[Comparison, ...]
    seconds: float
    missing: str = ""

    @property
    def holds(self) -> bool:
        """Whether every comparison holds; nothing speaks against a case that was not run."""
        return all(c.holds for c in self.comparisons)

    @property
    def verdict(self) -> str:
        """In words: holds, does not hold, known not to hold, not run."""
        if self.missing or self.holds:
            return "not run" if self.missing else "holds"
        return "known not to hold" if self.case.known else "does not hold"

    @property
    def failed(self) -> bool:
        """Whether it does not hold and nobody knew."""
        return not self.holds and not self.case.known

    @property
    def nearest(self) -> Comparison | None:
        """The comparison nearest to its limit, None if there is none."""
        return max(self.comparisons, key=lambda c: c.share, default=None)


CASES: tuple[Case, ...] = (
    Case(
        "half-space-step",
        "Half space, step of the surface temperature",
        CONDUCTION,
        transient.semi_infinite_step,
    ),
    Case(
        "half-space-film",
        "Half space, step of the air temperature",
        CONDUCTION,
        transient.semi_infinite_film,
    ),
    Case("half-space-year", "Half space, annual wave", CONDUCTION, periodic.periodic_year),
    Case("half-space-day", "Half space, daily wave", CONDUCTION, periodic.periodic_day),
    Case("order-heat-space", "Conduction, order in space", CONDUCTION, orders.heat_in_space),
    Case("order-heat-time", "Conduction, order in time", CONDUCTION, orders.heat_in_time),
    Case("freezing", "Two-phase freezing front", CONDUCTION, freezing.freezing_front),
    Case("latent-heat", "Latent heat of the catalogue", CONDUCTION, latent_heat.catalogue_freezes),
    Case("wall", "Wall behind films", CONDUCTION, transient.wall),
    Case("rectangle", "Rectangle behind films, two dimensions", CONDUCTION, transient.rectangle),
    Case("iso10211-1", "ISO 10211 case 1, half square column", CONDUCTION, steady.square_column),
    Case("iso10211-2", "ISO 10211 case 2, composite", CONDUCTION, steady.composite),
    Case("strip-8", "Strip on the ground, 8 m", CONDUCTION, steady.strip_on_ground),
    Case(
        "strip-12",
        "Strip on the ground, 12 m",
        CONDUCTION,
        steady.strip_of_the_ground_coupling_cases,
    ),
    Case("slab", "Slab on the ground in two dimensions, ISO 13370", CONDUCTION, slab.slab_on_ground),
    Case(
        "elements-heat",
        "Wall on a footing, heat, against finite elements",
        CONDUCTION,
        finite_element_wall_heat.wall_heat,
        slow=True,
    ),
    Case("vapour-films", "Linear vapour diffusion behind films", MOISTURE, vapour.linear_diffusion),
    Case("vapour-rectangle", "Linear vapour diffusion in a rectangle", MOISTURE, vapour.vapour_rectangle),
    Case("order-vapour-space", "Linear vapour diffusion, order in space", MOISTURE, orders.vapour_in_space),
    Case("hamstad-2", "HAMSTAD benchmark 2, isothermal drying", MOISTURE, vapour.isothermal_drying),
    Case("capillary", "Capillary uptake, exponential diffusivity", MOISTURE, uptake.capillary_uptake),
    Case("celia-sand", "Infiltration into sand (Celia 1990)", MOISTURE, infiltration.sand_column),
    Case("celia-field", "Infiltration into a field soil (Celia 1990)", MOISTURE, infiltration.field_column),
    Case("hydrostatic", "Hydrostatic column", MOISTURE, gravity.hydrostatic),
    Case("gardner", "Steady flow above a water table", MOISTURE, gravity.steady_profiles),
    Case(
        "gardner-evaporation",
        "Largest evaporation above a water table",
        MOISTURE,
        gravity.largest_evaporation,
    ),
    Case("facing", "Facing on an exposed face", MOISTURE, edges.faced_insulation),
    Case("drainage", "Free drainage over temperature", MOISTURE, edges.drained_soil),
    Case("water-at-the-side", "Ground water at the side", MOISTURE, edges.water_at_the_side),
    Case("recharge", "Recharge of a water table in two dimensions", MOISTURE, recharge.recharge),
    Case("en15026", "EN 15026 Annex A, uptake with heating", COUPLED, uptake.standard_uptake),
    Case("steady-wall", "Steady wall without condensation", COUPLED, steady_wall.steady_wall),
    Case("air-flow", "Air flow across a layer", COUPLED, air_flow.across_a_layer),
    Case("two-layer", "Condensation between two layers", COUPLED, two_layer.condensation),
    Case(
        "hamstad-5",
        "HAMSTAD benchmark 5 as recalled, inside insulation",
        COUPLED,
        hamstad_inside_insulation.inside_insulation,
    ),
    Case("hamstad-1", "HAMSTAD benchmark 1 as recalled, own climate", COUPLED, hamstad_roof.roof, slow=True),
    Case("rain-on-wall", "Rain and sun on a wall with a finish", COUPLED, rain_on_wall.rain_on_wall, slow=True),
    Case(
        "elements-moisture",
        "Wall on a footing, heat and moisture, against finite elements",
        COUPLED,
        finite_element_wall_moisture.wall_moisture,
        slow=True,
    ),
    Case("order-space", "Manufactured solution, order in space", COUPLED, manufactured.order_in_space),
    Case("order-time", "Manufactured solution, order in time", COUPLED, manufactured.order_in_time),
    Case("mirror", "Symmetric section, mirrored", INVARIANTS, symmetry_and_rest.mirror),
    Case("turned", "Section turned", INVARIANTS, symmetry_and_rest.turned),
    Case("one-in-two", "One dimension posed in two", INVARIANTS, symmetry_and_rest.one_dimension_in_two),
    Case("one-material", "Interface within one material", INVARIANTS, symmetry_and_rest.interface_of_one_material),
    Case("equilibrium", "Equilibrium stays", INVARIANTS, symmetry_and_rest.equilibrium),
    Case("conservation", "Balance of energy and water", INVARIANTS, symmetry_and_rest.conservation),
    Case("maximum-heat", "Maximum principle, heat alone", INVARIANTS, maximum.heat_only),
    Case("maximum-vapour", "Maximum principle, vapour alone", INVARIANTS, maximum.vapour_only),
    Case("saturation", "Saturation pressure and dew point", CLIMATE, air_properties.saturation),
    Case("psychrometrics", "Psychrometrics against a library", CLIMATE, air_properties.psychrometrics),
    Case("water", "Water and ice against IAPWS", CLIMATE, air_properties.water_properties),
    Case("kelvin", "Humidity and suction", CLIMATE, air_properties.kelvin),
    Case("sun", "Position of the sun", CLIMATE, sun.position),
    Case("inclined", "Irradiance on inclined surfaces", CLIMATE, sun.inclined),
    Case("view-factors", "Sky seen past obstructions", CLIMATE, sun.view_factors),
    Case("sky", "Longwave of the sky", CLIMATE, sun.sky),
    Case("driving-rain", "Driving rain", CLIMATE, climate_loads.driving_rain),
    Case("hourly-means", "Hourly means joined", CLIMATE, climate_loads.hourly_means),
    Case("ground-wave", "Undisturbed ground temperature", CLIMATE, climate_loads.ground_wave),
    Case("indoor-air", "Published relations of indoor air", CLIMATE, climate_loads.indoor_air),
    Case("mould-threshold", "Mould index, where growth begins", ASSESSMENT, mould.threshold),
    Case("mould-constant", "Mould index at constant conditions", ASSESSMENT, mould.constant),
    Case("mould-original", "Mould index, original model of 1999", ASSESSMENT, mould.original),
    Case("mould-times", "Mould index, weeks until growth", ASSESSMENT, mould.times),
    Case("mould-decline", "Mould index, decline in the dry", ASSESSMENT, mould_spells.decline),
    Case("mould-cycles", "Mould index, weekly cycles", ASSESSMENT, mould_spells.cycles),
    Case("mould-weather", "Mould index in irregular weather", ASSESSMENT, mould_spells.weather),
    Case("germination", "Germination lines", ASSESSMENT, exposure.germination),
    Case("mould-dose", "Mould dose", ASSESSMENT, exposure.mould_dose),
    Case("wood-moisture", "Equilibrium moisture of wood", ASSESSMENT, wood.sorption),
    Case("decay-constants", "Decay, critical time and rate", ASSESSMENT, wood.decay_constants),
    Case("decay-constant", "Decay at constant conditions", ASSESSMENT, wood.decay_constant_conditions),
    Case("decay-cycles", "Decay through wet and dry spells", ASSESSMENT, wood.decay_cycles),
    Case("condensation-hours", "Hours at the dew point", ASSESSMENT, exposure.condensation),
    Case("wetness", "Time of wetness", ASSESSMENT, exposure.wetness),
    Case("frost", "Frost cycles", ASSESSMENT, exposure.frost),
    Case("freezing-index", "Air-freezing index", ASSESSMENT, exposure.freezing_index),
    Case("running-means", "Running means of humidity", ASSESSMENT, exposure.running_means),
    Case("laboratory-uptake", "Uptake tests of the catalogue", LABORATORY, measured_uptake.uptake_tests, slow=True),
    Case("laboratory-cups", "Cup tests of the catalogue", LABORATORY, cups.cup_tests),
    Case("laboratory-sorption", "Sorption of the catalogue", LABORATORY, sorption.sorption_tests),
    Case("laboratory-drying", "Drying of the catalogue", LABORATORY, sorption.drying_tests),
    Case("measured-wall", "Watertight concrete wall, five years", MEASURED, concrete.watertight_wall),
    Case("measured-penetration", "Water under pressure in concrete", MEASURED, concrete.water_under_pressure),
    Case("measured-rise", "Rise in a concrete wall", MEASURED, concrete.rise_from_a_wet_footing),
    Case("measured-foam-soil", "Foam beside wet soil", MEASURED, foam.foam_beside_wet_soil),
    Case("measured-foam-water", "Foam under water", MEASURED, foam.foam_under_water),
    *(
        Case(f"measured-ground-{name}", f"Soil temperatures, {place}", MEASURED, run, name != "durham", known)
        for name, place, run, known in ground.STATION_CHECKS
    ),
    Case(
        "measured-ground-excess",
        "Soil at 1 m against the air",
        MEASURED,
        ground.excess_over_air,
        slow=True,
        known=ground.TOO_COLD,
    ),
    Case(
        "measured-ground-conduction",
        "Conduction from 10 to 100 cm",
        MEASURED,
        ground.conduction,
        known=ground.TOO_SLOW,
    ),
    Case(
        "measured-frost",
        "Frost under snow and without",
        MEASURED,
        frost.coldest_days,
        slow=True,
        known=frost.TOO_COLD,
    ),
    Case(
        "measured-frost-depth",
        "Depth of frost under grass",
        MEASURED,
        frost.depth_of_frost,
        slow=True,
        known=frost.TOO_DEEP,
    ),
    Case(
        "measured-evaporation",
        "Evaporation of bare ground in a crawlspace",
        MEASURED,
        crawlspace.evaporation,
        slow=True,
        known=crawlspace.TOO_MUCH,
    ),
    Case(
        "measured-crawlspace",
        "Vented against closed crawlspace in a mixed-humid summer",
        MEASURED,
        crawlspace_summer.vented_against_closed,
        slow=True,
    ),
    Case(
        "measured-sealing",
        "Sealing a vented crawlspace, nothing else",
        MEASURED,
        crawlspace_summer.sealing_alone,
        slow=True,
    ),
    Case(
        "measured-leakage",
        "Leakage to outdoors of a closed crawlspace",
        MEASURED,
        crawlspace_summer.outdoor_leakage,
        slow=True,
    ),
    Case("measured-fill", "Humidity in the fill under a heated slab", MEASURED, ground.fill_under_slab),
    *(Case(f"practice-{c.id}", c.title, PRACTICE, c.run, c.slow) for c in checks.CHECKS),
)


def left_out(case: Case) -> Outcome:
    """Return what stands for a slow case that was not asked for."""
    return Outcome(case, (), 0.0, "slow, left out on request")


def run_case(case: Case) -> Outcome:
    """Run one case and take its time."""
    start = perf_counter()
    try:
        comparisons = tuple(case.run())
    except NotRun as reason:
        return Outcome(case, (), perf_counter() - start, str(reason))
    return Outcome(case, comparisons, perf_counter() - start)


def run_outcomes(progress: Callable[[str], None] | None = None, cases: Sequence[Case] = CASES) -> list[Outcome]:
    """Run cases; ``progress`` is told a line after each."""
    outcomes = []
    for case in cases:
        outcome = run_case(case)
        outcomes.append(outcome)
        if progress:
            word = outcome.verdict if outcome.holds else outcome.verdict.upper()
            progress(f"{case.title}: {word} ({outcome.seconds:.1f} s)")
    return outcomes
