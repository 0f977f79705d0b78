"""Climates by name, usable without any file of one's own.

Three typical years are kept with a library that this package needs; two more are invented, see `invented`.
Monthly totals stand in where a year has no usable rain of its own.
"""

from __future__ import annotations

from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

from stemwall.weather.errors import Problem, WeatherError

MM_PER_INCH = 25.4


@dataclass(frozen=True)
class Kept:
    """A typical year in a file of the library pvlib, with the rain that is stated for it.

    Parameters
    ----------
    file : str
        Name in the library's data folder.
    where : str
        Place, and kind of climate, in words.
    rain : mapping
        Totals [mm] by month, of the months whose rain the file does not have; "{}" keeps its own.
    whose : str
        Whose totals these are.
    own_rain : bool
        Whether the file's own rain counts in the other months.
    """

    file: str
    where: str
    rain: dict[int, float]
    whose: str
    own_rain: bool = True


def _months(*inches: float) -> dict[int, float]:
    return {month: value * MM_PER_INCH for month, value in enumerate(inches, start=1)}


KEPT: dict[str, Kept] = {
    "mixed-humid": Kept(
        "723170TYA.CSV",
        "Greensboro, North Carolina",
        {2: 75.0},
        "a usual February of the station, about 3 in (normals of 1961 to 2020 lie between 2.9 and 3.4 in; from "
        "memory, to be checked), since the file has none",
    ),
    "cold-marine": Kept(
        "703165TY.csv",
        "Sand Point, Alaska",
        _months(3.0, 2.6, 2.4, 2.1, 2.6, 2.5, 2.3, 3.6, 4.8, 4.6, 4.7, 4.1),
        "the long record nearest to it, Cold Bay, Alaska, about 39 in a year (from memory, to be checked), since "
        "the file has reports of 30 % of its hours",
        own_rain=False,
    ),
    "hot-humid": Kept(
        "12839.tm2",
        "Miami, Florida",
        _months(2.01, 2.08, 2.39, 2.85, 6.21, 9.33, 5.70, 7.58, 7.63, 5.64, 2.66, 1.83),
        "the station's normals of 1961 to 1990, 55.9 in a year (from memory, to be checked), since the format has "
        "no rain",
    ),
}

INVENTED = ("cold-continental", "hot-dry")
"""Names of invented years, see `invented`."""

DEFAULT = "default"
"""Another name of `mixed-humid`."""

NAMES = (DEFAULT, *KEPT, *INVENTED)
"""All names that stand for a year where a file could."""


def kept_file(name: str) -> Path:
    """File of one of `KEPT` or the default; pvlib is looked for, not imported.

    Raises
    ------
    WeatherError
        If it is not there.
    """
    wanted = KEPT["mixed-humid" if name == DEFAULT else name].file
    spec = find_spec("pvlib")
    for folder in [] if spec is None else list(spec.submodule_search_locations or ()):
        path = Path(folder) / "data" / wanted
        if path.is_file():
            return path
    expected = "the file that pvlib ships, or a weather file named in the case"
    raise WeatherError([Problem(f"{name} weather (pvlib/data/{wanted})", "no such file", expected)])
