"""Where the embedded weather year lies."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path

from stemwall.weather.errors import Problem, WeatherError


def embedded_default() -> Path:
    """TMY3 file of Greensboro, North Carolina (mixed-humid), that the pvlib package carries; pvlib is not imported."""
    spec = find_spec("pvlib")
    folders = [] if spec is None else list(spec.submodule_search_locations or ())
    for folder in folders:
        path = Path(folder) / "data" / "723170TYA.CSV"
        if path.is_file():
            return path
    expected = "the file that pvlib ships, or a weather file named in the case"
    raise WeatherError([Problem("default weather (pvlib/data/723170TYA.CSV)", "no such file", expected)])
