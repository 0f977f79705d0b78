"""What a run is asked to do beside its section: ground, start state, accuracy, output."""

from __future__ import annotations

from dataclasses import dataclass

#: a year of a run [h]
YEAR = 8760


@dataclass(frozen=True)
class StartState:
    """Initial state: the ground wave for temperature, and humidity or suction by region.

    Parameters
    ----------
    ground_suction : float
        Suction [Pa] of soils without a water table; with one, soils start
        hydrostatic but never drier than this.  33 kPa is field capacity
        (common practice).
    relative_humidity : float
        Relative humidity [-] of every region that states none and is no soil.
    indoor_temperature : float
        Temperature [degC] of parts above grade at the start.
    """

    ground_suction: float = 33.0e3
    relative_humidity: float = 0.80
    indoor_temperature: float = 20.0


@dataclass(frozen=True)
class Accuracy:
    """Error control of the time integration.

    These are errors of a single step as the controller estimates them, not errors
    of the answer: on the default case they keep every probe within 0.05 K and
    0.5 %RH of a converged answer at every one of the first 600 hours (measured; see
    benchmarks).

    Parameters
    ----------
    temperature : float
        Wanted local error of temperature per step [K].
    humidity : float
        Wanted local error of relative humidity per step [-].
    saturation : float
        Wanted local error of water content per step, share of saturation [-].
    pressure : float
        Wanted local error of water pressure where soil is saturated [Pa].
    resolved : float
        Transients shorter than this [s] are not resolved: the error test cuts no
        step below it, and such steps are counted.
    shortest_step : float
        If the nonlinear iteration needs a step below this [s], the run gives up with an error.
    longest_step : float
        No step is longer [s]; at most one hour.
    """

    temperature: float = 0.09
    humidity: float = 0.009
    saturation: float = 0.009
    pressure: float = 1000.0
    resolved: float = 20.0
    shortest_step: float = 0.01
    longest_step: float = 3600.0


@dataclass(frozen=True)
class MeshRule:
    """How the section is cut into cells.

    Parameters
    ----------
    finest : float
        Cell size at exposed faces and material interfaces [m].
    growth : float
        Ratio of neighbouring cells away from an interface [-].
    coarsest : float
        Largest cell [m].
    layer_cells : int
        A layer gets at least this many cells across.
    """

    finest: float = 0.010
    growth: float = 1.5
    coarsest: float = 0.80
    layer_cells: int = 3

    def refined(self, factor: float = 2.0) -> MeshRule:
        """The rule whose cells are ``factor`` times smaller everywhere."""
        return MeshRule(
            self.finest / factor,
            1.0 + (self.growth - 1.0) / factor,
            self.coarsest / factor,
            round(self.layer_cells * factor),
        )


@dataclass(frozen=True)
class Output:
    """What is recorded: hourly series always, fields every ``field_hours`` hours."""

    field_hours: int = 24 * 7


@dataclass(frozen=True)
class SpinUp:
    """How long the first year is repeated before the run is recorded.

    Parameters
    ----------
    limit_t : float
        Settled if no monthly mean temperature at a probe changes more than this from year to year [K].
    limit_rh : float
        The same for relative humidity [-].
    least_years : int
        Years that are marched in any case.
    most_years : int
        Years after which the run is recorded, settled or not.
    """

    limit_t: float = 0.1
    limit_rh: float = 0.01
    least_years: int = 0
    most_years: int = 10
