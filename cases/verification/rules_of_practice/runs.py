"""Runs of common practice: foundation details on a coarse mesh through a season, each computed once.

The cases ask for directions, not for numbers, so mesh, ground and steps are coarser than
the defaults.  Monthly means of the default crawlspace in winter lie within 0.5 K and 2 %RH of
those with 0.03 m cells and ground of 10 m; the two runs of a pair share most of that error.
"""

from __future__ import annotations

import json
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from stemwall.cases.batch.single_run import simulate_setup
from stemwall.cases.case_file.read import parse_case
from stemwall.cases.setup.build import build
from stemwall.weather.daily import read_days
from stemwall.weather.netcdf import write_netcdf
from stemwall.weather.read import read_weather

Floats = NDArray[np.float64]
Change = Mapping[str, Any]

PRACTICE = "common practice, no source"
#: differences that count, [K], [-], [kg/kg]: several times what cells of 0.02 m and the default accuracy change in the
#: difference of a pair (measured on slabs in summer: 0.01 K and 0.0004)
KELVIN, HUMIDITY, MOISTURE = 0.05, 0.002, 0.002
#: the same for amounts of heat [kWh/m] and water [kg/m] over a season
HEAT, WATER = 1.0, 0.5
HOUR, MONTH, ZERO = 3600.0, 720, 273.15


@dataclass(frozen=True)
class Season:
    """First day and length [d] of a run."""

    start: str
    days: int


WINTER, SUMMER = Season("2001-10-01", 123), Season("2001-04-01", 153)
HEATING = Season("2001-10-01", 182)
YEAR = Season("2001-10-01", 365)

_COMMON = """\
[mesh]
finest = 0.05
growth = 2.5
coarsest = 2.5
layer_cells = 2

[accuracy]
temperature = 0.5
humidity = 0.05
saturation = 0.05

[site]
wall_azimuth = "0 deg"

[run]
field_every = "4 weeks"

[indoor.house]
temperature = { winter = "68 degF", summer = "75 degF" }
humidity = { winter = "35 %", summer = "55 %" }
"""
_CRAWL_AIR = """
[indoor.crawlspace]
temperature = { winter = "63 degF", summer = "72 degF" }
humidity = { winter = "45 %", summer = "60 %" }
"""
_BASEMENT_AIR = """
[indoor.basement]
temperature = { winter = "66 degF", summer = "72 degF" }
humidity = { winter = "40 %", summer = "60 %" }
"""
_DETAIL = """
[detail]
kind = "KIND"

[detail.ground]
outward = "6 m"
down = "6 m"
"""


def _detail(kind: str) -> str:
    return _DETAIL.replace("KIND", kind)


CRAWL = _COMMON + _CRAWL_AIR + _detail("conditioned crawlspace")
BASEMENT = _COMMON + _BASEMENT_AIR + _detail("basement")
SLAB = _COMMON + _detail("slab on grade")
#: crawlspaces whose air is computed, vented through 1/150 of the floor
VENTED = _COMMON + "\n[zone.crawlspace]\nvents = {}\n" + _detail("vented crawlspace")
LINED = _COMMON + "\n[zone.crawlspace]\nvents = {}\n" + _detail("conditioned crawlspace")
FREE = _COMMON


#: walls and footings that carry water as their concrete does in an uptake test, as old and lean concrete and masonry
#: may: in months nothing rises far enough in sound concrete for a break to show
WICKING: Change = {
    "material.wicking": {"base": "concrete_wc050", "liquid": {"service": "short-term"}},
    "detail.wall.material": "wicking",
    "detail.footing.material": "wicking",
}


def run(
    text: str, season: Season, change: Change | None = None, *, warmer: float = 0.0, station: str = ""
) -> xr.Dataset:
    """Return the result of a case, computed once for the same case.

    Parameters
    ----------
    text : str
        Case file without a variant.
    season : Season
        When it runs.
    change : mapping, optional
        Dotted paths of the case and what to put there.
    warmer : float
        How much warmer than the embedded year the weather is, at the same relative humidity [K].
    station : str
        Whose measured days make the weather, one of `stemwall.weather.daily.STATIONS`, instead of the embedded year.
    """
    changes = {"run.start": season.start, **(change or {})}
    if warmer:
        changes["weather.file"] = _shifted(warmer)
    if station:
        changes |= {"weather.file": _measured(station), "weather.accept": ["stuck"]}
    lines = [f"change.{json.dumps(path)} = {_toml(value)}" for path, value in sorted(changes.items())]
    return _computed("\n".join([text, "[[variant]]", 'name = "this"', *lines, ""]), season.days)


def _toml(value: Any) -> str:
    """Return a value as TOML."""
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{json.dumps(key)} = {_toml(inner)}" for key, inner in value.items()) + " }"
    if isinstance(value, Sequence) and not isinstance(value, str):
        return "[" + ", ".join(_toml(inner) for inner in value) + "]"
    return json.dumps(value)


@cache
def _computed(text: str, days: int) -> xr.Dataset:
    case = parse_case(text, _folder() / "practice.toml").variant("this")
    path = simulate_setup(build(case, days / 365), _folder() / "practice.nc")
    with xr.open_dataset(path) as opened:
        return opened.load()


@cache
def _temporary() -> tempfile.TemporaryDirectory[str]:
    """Folder for weather and results; it goes with the process."""
    return tempfile.TemporaryDirectory(prefix="practice")


def _folder() -> Path:
    return Path(_temporary().name)


@cache
def _shifted(by: float) -> str:
    """Write the embedded year warmer by so many kelvin; return its file name.

    Relative humidity, wind, sun and rain stay; the sky keeps its emissivity.
    """
    year = read_weather("default")
    warmth = ((year.temperature + by + ZERO) / (year.temperature + ZERO)) ** 4
    shifted = replace(year, temperature=year.temperature + by, sky_longwave=year.sky_longwave * warmth)
    name = f"warmer{by:+g}.nc"
    write_netcdf(shifted, _folder() / name)
    return name


@cache
def _measured(station: str) -> str:
    """Write the measured days of a station, made hourly; return the file name."""
    name = f"{station}.nc"
    write_netcdf(read_days(station).year, _folder() / name)
    return name


def at(data: xr.Dataset, quantity: str, place: str) -> Floats:
    """Return temperature, relative_humidity or water_content at a probe, (hours,)."""
    return np.asarray(data[f"probe_{quantity}"].sel(probe=place).values)


def moisture(data: xr.Dataset, place: str) -> Floats:
    """Return the moisture of wood at a probe, kg water per kg dry wood, (hours,)."""
    return np.asarray(at(data, "water_content", place) / float(data["probe_density"].sel(probe=place)))


def air(data: xr.Dataset, quantity: str, space: str) -> Floats:
    """Return temperature or relative_humidity of the air of a space, (hours,)."""
    return np.asarray(data[f"climate_{quantity}"].sel(climate=space).values)


def in_months(data: xr.Dataset, values: Floats, *months: int) -> float:
    """Return the mean of hourly values over the hours of calendar months."""
    return float(values[np.isin(data["time"].dt.month.values, months)].mean())


def last(values: Floats, hours: int = MONTH) -> float:
    """Return the mean of the last month, or of so many hours."""
    return float(values[-hours:].mean())


def flow(data: xr.Dataset, quantity: str, surfaces: str) -> Floats:
    """Return heat_flow [W/m] or vapour_flow [kg/(m s)] into the section, (hours,).

    ``surfaces`` is how their names begin, such as "house | slab, up".

    Raises
    ------
    ValueError
        If none begins so.
    """
    chosen = [str(name).startswith(surfaces) for name in data["surface"].values]
    if not any(chosen):
        raise ValueError(f"no surface of the run begins with {surfaces!r}")
    return np.asarray(data[quantity].values[:, chosen].sum(axis=1))


def heat(data: xr.Dataset, *surfaces: str) -> float:
    """Return the heat [kWh/m] that entered through surfaces."""
    return float(sum(flow(data, "heat_flow", names).sum() for names in surfaces)) / 1000.0


def vapour(data: xr.Dataset, *surfaces: str) -> float:
    """Return the vapour [kg/m] that left through surfaces."""
    return -float(sum(flow(data, "vapour_flow", names).sum() for names in surfaces)) * HOUR


def field(data: xr.Dataset, quantity: str, region: str, when: int = -1) -> tuple[Floats, Floats]:
    """Return values and areas [m2] of the cells of a region, by default when the run ends."""
    number = [str(name) for name in data["region"].values].index(region)
    chosen = data["cell_region"].values == number
    areas = np.diff(data["y_edge"].values)[:, None] * np.diff(data["x_edge"].values)[None, :]
    return np.asarray(data[quantity].values[when][chosen], dtype=np.float64), np.asarray(areas[chosen])


def stored(data: xr.Dataset, region: str, when: int = -1) -> float:
    """Return the water [kg/m] in a region, by default when the run ends."""
    values, areas = field(data, "water_content", region, when)
    return float((values * areas).sum())
