"""The ground far from the building, from the balance of its own surface: site, soil, cover and weather of the case."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cache, cached_property
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stemwall import solver
from stemwall.cases.case_file.case import Case
from stemwall.cases.section.eaves_strip import OUTDOORS
from stemwall.cases.surroundings.outdoor_climate import outdoors
from stemwall.cases.surroundings.site import Site
from stemwall.materials.material import Material
from stemwall.materials.tables import tabulate
from stemwall.solver.model.climate import Climate
from stemwall.solver.model.errors import SolverError
from stemwall.solver.model.ground import GroundProfile, from_kept_form, kept_form
from stemwall.solver.model.section import Section
from stemwall.solver.model.settings import YEAR
from stemwall.solver.open_ground import OpenGround, settle_open_ground
from stemwall.weather.cache import Entry, digest, kept
from stemwall.weather.ground import GroundWave
from stemwall.weather.year import WeatherYear

Floats = NDArray[np.float64]

#: least depth [m] whose suction the start state takes: the skin above is as dry or wet as the last day left it
SKIN = 0.2


def ground_of(case: Case, section: Section, materials: Mapping[str, Material], year: WeatherYear) -> SiteGround:
    """Return the ground of a case; nothing is computed before it is asked for a temperature.

    Parameters
    ----------
    case, section : Case, Section
        The case, and what is drawn.
    materials : mapping
        All that the case may draw with.
    year : WeatherYear
        Whole years of weather, of which the first from the start of the run counts.
    """
    soil = _soil(case, section, materials)
    moist = "ground_suction" not in case.run.model_fields_set
    return SiteGround(case.site, year, case.run.start, soil, section.water_table, case.run.ground_suction, moist)


def _soil(case: Case, section: Section, materials: Mapping[str, Material]) -> Material | None:
    """The soil of the open ground: what lies in the lower left corner, else that of the site; None without soil."""
    drawn = [region for region in section.regions if materials[region.material].group == "soil"]
    if not any(region.y0 < 0.0 for region in drawn) and not any(edge.kind == "ground" for edge in section.edges):
        return None
    corner = [r for r in drawn if r.x0 <= section.x0 and r.y0 <= section.y0]
    key = corner[-1].material if corner else case.site.soil
    return materials.get(key)


@dataclass(frozen=True, eq=False)
class SiteGround:
    """Temperature, and suction at the start, of the open ground of a site.

    Parameters
    ----------
    site, year, start
        Site, weather, and first hour of the run.
    soil : Material or None
        Soil of the open ground; None where no soil is drawn, and the wave of the air stands in.
    water_table : float or None
        Height of the water table [m].
    driest : float
        Suction [Pa] at which the soil begins before it has settled, at most.
    moist : bool
        Whether the start state takes the suction of the settled ground too.
    """

    site: Site
    year: WeatherYear
    start: datetime
    soil: Material | None
    water_table: float | None
    driest: float
    moist: bool

    def temperature(self, depth: ArrayLike, day: ArrayLike) -> Floats:
        """Temperature [degC] at a depth [m] on a day of the year [d]."""
        return self._used.temperature(depth, day)

    def at_start(self, depth: ArrayLike, day: float) -> tuple[Floats, Floats | None]:
        """Temperature [degC], and suction [Pa] if the settled ground says so, at depths [m] as the run begins."""
        temperature, _ = self._used.at_start(depth, day)
        if self._settled is None or not self.moist:
            return temperature, None
        return temperature, self._settled.at_start(np.maximum(depth, SKIN), day)[1]

    @property
    def wave(self) -> GroundWave:
        """The yearly wave at the surface."""
        return self._used.surface if isinstance(self._used, GroundProfile) else self._used

    def describe(self) -> str:
        """Where it comes from, in words."""
        wave = self.wave
        if self._stated:
            origin = "as stated by site.ground_mean and site.ground_amplitude"
        elif self._settled is None:
            why = "as stated" if self.site.ground_from == "air" else self._failed or "no open ground is drawn"
            origin = f"that of the air: {why}"
        else:
            assert self.soil is not None
            origin = (
                f"from the balance of the surface of {self.soil.id}, {self.site.cover.kind}, in the year from "
                f"{self.start:%Y-%m-%d}, {self._settled.years} times until no depth changed by more than "
                f"{self._settled.left:.2g} K; air {self.year.ground_wave().mean:.3g} °C"
            )
        suction = "; suction at the start from there too" if self._settled is not None and self.moist else ""
        return (
            f"yearly wave of {wave.mean:.3g} °C ± {wave.amplitude:.3g} K at the surface ({origin}), coldest on day "
            f"{wave.coldest_day:.0f}; held at the lower edge, and the start below grade{suction}"
        )

    @property
    def _stated(self) -> bool:
        return self.site.ground_mean is not None or self.site.ground_amplitude is not None

    @property
    def _air(self) -> GroundWave:
        return replace(self.year.ground_wave(), diffusivity=self.site.ground_diffusivity)

    @cached_property
    def _outcome(self) -> GroundProfile | str:
        """The settled ground, or why there is none."""
        mean, amplitude = self.site.ground_mean, self.site.ground_amplitude
        if self.soil is None or self.site.ground_from == "air" or (mean is not None and amplitude is not None):
            return ""
        climate = outdoors(self.year, self.site, self.start, YEAR, beside=False)[OUTDOORS]
        finish = (1.0 - self.site.ground_albedo, self.site.ground_emissivity) if self.site.covered else None
        try:
            return _settled(
                OpenGround(self.soil, climate, self.start, self.water_table, finish, self._air, self.driest)
            )
        except SolverError as error:
            return f"the balance of the surface could not be computed ({error})"

    @property
    def _settled(self) -> GroundProfile | None:
        return self._outcome if isinstance(self._outcome, GroundProfile) else None

    @property
    def _failed(self) -> str:
        return self._outcome if isinstance(self._outcome, str) else ""

    @cached_property
    def _used(self) -> GroundWave | GroundProfile:
        """What is stated, else what is settled, else the wave of the air."""
        if not self._stated:
            return self._settled or self._air
        other = self._air if self._settled is None else self._settled.surface
        mean, amplitude = self.site.ground_mean, self.site.ground_amplitude
        return GroundWave(
            other.mean if mean is None else mean,
            other.amplitude if amplitude is None else amplitude,
            other.coldest_day,
            self.site.ground_diffusivity,
        )


def _settled(ground: OpenGround) -> GroundProfile:
    """The settled profile, kept from one run to the next."""

    def make() -> Entry:
        return Entry(*kept_form(settle_open_ground(ground)))

    tables = tabulate((ground.soil,))
    arrays = [*(value for value in vars(tables).values() if isinstance(value, np.ndarray)), *_arrays(ground.climate)]
    rest = (ground.start, ground.water_table, ground.finish, ground.air, ground.driest, ground.soil.surface)
    key = ("open ground", _program(), digest(*arrays), rest, _roots(ground.climate))
    return from_kept_form(*kept(key, make))


def _arrays(climate: Climate) -> list[NDArray[np.float64]]:
    """All numbers that the ground meets."""
    up = climate.facings["up"]
    leaves = () if up.leaves is None else vars(up.leaves).values()
    given = (climate.temperature, climate.relative_humidity, *vars(up).values(), *leaves)
    return [value for value in given if isinstance(value, np.ndarray)]


def _roots(climate: Climate) -> tuple[float, float]:
    up = climate.facings["up"]
    return (0.0 if up.leaves is None else up.leaves.root_depth), up.hidden_absorptance


@cache
def _program() -> str:
    """Hash of what computes: the solver."""
    total = hashlib.sha256()
    for path in sorted(Path(solver.__file__).parent.rglob("*.py")):
        total.update(path.read_bytes())
    return total.hexdigest()
