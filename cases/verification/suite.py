"""The verification suite: every case with its identifier, title and group, and a way to run them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from time import perf_counter

from stemwall.cases.verification import (
    conduction,
    freezing,
    gravity,
    infiltration,
    invariants,
    manufactured,
    periodic,
    recharge,
    slab,
    steady_conduction,
    steady_wall,
    two_layer,
    uptake,
    vapour,
)
from stemwall.cases.verification.comparison import Comparison

CONDUCTION, MOISTURE, COUPLED, INVARIANTS = "Heat conduction", "Moisture", "Coupled", "Invariants"


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
    """

    id: str
    title: str
    group: str
    run: Callable[[], list[Comparison]]
    slow: bool = False


@dataclass(frozen=True)
class Outcome:
    """A case that was run, and how long it took [s]."""

    case: Case
    comparisons: tuple[Comparison, ...]
    seconds: float

    @property
    def holds(self) -> bool:
        return all(c.holds for c in self.comparisons)


CASES: tuple[Case, ...] = (
    Case(
        "half-space-step",
        "Half space, step of the surface temperature",
        CONDUCTION,
        conduction.semi_infinite_step,
    ),
    Case(
        "half-space-film",
        "Half space, step of the air temperature",
        CONDUCTION,
        conduction.semi_infinite_film,
    ),
    Case("half-space-year", "Half space, annual wave", CONDUCTION, periodic.periodic_year),
    Case("half-space-day", "Half space, daily wave", CONDUCTION, periodic.periodic_day),
    Case("freezing", "Two-phase freezing front", CONDUCTION, freezing.freezing_front),
    Case("wall", "Wall behind films", CONDUCTION, conduction.wall),
    Case("rectangle", "Rectangle behind films, two dimensions", CONDUCTION, conduction.rectangle),
    Case("iso10211-1", "ISO 10211 case 1, half square column", CONDUCTION, steady_conduction.square_column),
    Case("iso10211-2", "ISO 10211 case 2, composite", CONDUCTION, steady_conduction.composite),
    Case("strip-8", "Strip on the ground, 8 m", CONDUCTION, steady_conduction.strip_on_ground),
    Case(
        "strip-12",
        "Strip on the ground, 12 m",
        CONDUCTION,
        steady_conduction.strip_of_the_ground_coupling_cases,
    ),
    Case("slab", "Slab on the ground in two dimensions, ISO 13370", CONDUCTION, slab.slab_on_ground),
    Case("vapour-films", "Linear vapour diffusion behind films", MOISTURE, vapour.linear_diffusion),
    Case("vapour-rectangle", "Linear vapour diffusion in a rectangle", MOISTURE, vapour.vapour_rectangle),
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
    Case("recharge", "Recharge of a water table in two dimensions", MOISTURE, recharge.recharge),
    Case("en15026", "EN 15026 Annex A, uptake with heating", COUPLED, uptake.standard_uptake),
    Case("steady-wall", "Steady wall without condensation", COUPLED, steady_wall.steady_wall),
    Case("two-layer", "Condensation between two layers", COUPLED, two_layer.condensation),
    Case("order-space", "Manufactured solution, order in space", COUPLED, manufactured.order_in_space),
    Case("order-time", "Manufactured solution, order in time", COUPLED, manufactured.order_in_time),
    Case("mirror", "Symmetric section, mirrored", INVARIANTS, invariants.mirror),
    Case("turned", "Section turned", INVARIANTS, invariants.turned),
    Case("one-in-two", "One dimension posed in two", INVARIANTS, invariants.one_dimension_in_two),
    Case("one-material", "Interface within one material", INVARIANTS, invariants.interface_of_one_material),
    Case("equilibrium", "Equilibrium stays", INVARIANTS, invariants.equilibrium),
    Case("conservation", "Balance of energy and water", INVARIANTS, invariants.conservation),
)


def run_case(case: Case) -> Outcome:
    """Run one case and take its time."""
    start = perf_counter()
    comparisons = tuple(case.run())
    return Outcome(case, comparisons, perf_counter() - start)


def run_outcomes(progress: Callable[[str], None] | None = None, cases: Sequence[Case] = CASES) -> list[Outcome]:
    """Run cases; ``progress`` is told a line after each."""
    outcomes = []
    for case in cases:
        outcome = run_case(case)
        outcomes.append(outcome)
        if progress:
            word = "holds" if outcome.holds else "DOES NOT HOLD"
            progress(f"{case.title}: {word} ({outcome.seconds:.1f} s)")
    return outcomes
