"""Random sections under hostile weather, as texts of case files: the same for a seed and a number everywhere.

Two of three are drawn freely from all materials of the catalogue, the others are details of houses.  Weather, water
and start states are what an engineer would call absurd: asked is whether the march gets through, not what a wall does.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

import numpy as np

from stemwall.cases.case_file.case import DETAILS
from stemwall.materials.catalogue import catalogue
from stemwall.weather.netcdf import write_netcdf
from stemwall.weather.read import read_weather
from stemwall.weather.year import WeatherYear

#: longest of these runs [h]
HOURS = 72
#: years that hold so many hours, as a case file states them
YEARS = 0.00822
ZERO = 273.15
Value = TypeVar("Value")
STARTS = ("2001-01-10", "2001-04-01", "2001-07-01", "2001-10-15")
ACCEPT = 'accept = ["clock", "units", "stuck", "zeros", "rain"]'


def write_weather(folder: Path) -> tuple[str, ...]:
    """Write years of hostile weather into a folder; what case files say of each."""
    year = read_weather("default")
    hours, draw = year.temperature.size, np.random.default_rng(1)
    hour = np.arange(hours)
    rain = np.where(hour % 5 < 3, 25.0, 0.0)
    made = {
        "arctic": _at(year, year.temperature - 30.0),
        "steady": _at(year, np.full(hours, -40.0)),
        "monsoon": replace(
            _at(year, 27.0 + 3.0 * np.sin(2.0 * np.pi * hour / 24.0)),
            relative_humidity=np.full(hours, 0.97), rain=rain, wind_speed=np.full(hours, 12.0),
        ),
        "noise": replace(
            _at(year, draw.uniform(-35.0, 38.0, hours)), relative_humidity=draw.uniform(0.05, 1.0, hours),
            rain=np.where(draw.random(hours) < 0.1, 40.0, 0.0),
        ),
    }  # fmt: skip
    for name, weather in made.items():
        write_netcdf(weather, folder / f"{name}.nc")
    return ("", *(f'[weather]\nfile = "{name}.nc"\n{ACCEPT}\n' for name in made))


def _at(year: WeatherYear, temperature: np.ndarray) -> WeatherYear:
    """A year at other temperatures, its sky as much colder or warmer."""
    sky = year.sky_longwave * ((temperature + ZERO) / (year.temperature + ZERO)) ** 4
    return replace(year, temperature=temperature, sky_longwave=sky)


def section(seed: int, number: int, weathers: tuple[str, ...]) -> str:
    """Text of the case file of a number; ``weathers``: see `write_weather`."""
    draw = _Draw(seed, number)
    head = f'[case]\ntitle = "random section {number}"\n{draw.one(weathers)}'
    return head + (_detail(draw) if number % 3 == 2 else _free(draw))


class _Draw:
    """What is drawn at random for one section."""

    def __init__(self, seed: int, number: int) -> None:
        self.random = np.random.default_rng([seed, number])
        materials = catalogue().materials
        self.solids = sorted(materials)
        self.soils = [key for key in self.solids if key.startswith(("soil_", "stone_", "sand_", "gravel_", "clay_"))]

    def one(self, values: Sequence[Value]) -> Value:
        return values[int(self.random.integers(len(values)))]

    def often(self, share: float) -> bool:
        return bool(self.random.random() < share)


def _head(draw: _Draw, water_tables: tuple[float, ...]) -> str:
    """Tables of the run, its mesh and its site."""
    return (
        f"[run]\nyears = {YEARS}\nstart = {draw.one(STARTS)}\n"
        f"initial_humidity = {draw.one((0.05, 0.5, 0.8, 0.99, 1.0))}\n"
        f"ground_suction = {draw.one((1000, 33000, 1500000))}\nindoor_temperature = {draw.one((-30, 5, 20, 40))}\n"
        f"[mesh]\nfinest = {draw.one((0.002, 0.01, 0.02))}\ngrowth = {draw.one((1.5, 1.8, 2.0))}\n"
        f"coarsest = {draw.one((0.5, 1.5))}\nlayer_cells = {draw.one((1, 2))}\n"
        f'[site]\nwater_table = {draw.one(water_tables)}\nsoil = "{draw.one(draw.soils)}"\n'
        f"wall_azimuth = {draw.one((0, 90, 180, 270))}\n"
    )


def _free(draw: _Draw) -> str:
    """A wall of one to five layers over and in two soils."""
    widths = [draw.one((0.002, 0.012, 0.05, 0.2, 0.6)) for _ in range(int(draw.random.integers(1, 6)))]
    left, right, foot, top = draw.one((0.3, 2.0, 8.0)), draw.one((0.3, 2.0, 5.0)), -0.4, draw.one((0.2, 1.0, 3.0))
    floor, depth = draw.one((-0.3, 0.0)), draw.one((2.0, 8.0))
    edges = np.concatenate([[0.0], np.cumsum(widths)]).round(6).tolist()
    wide, high = round(edges[-1] + right, 6), 0.5 * top
    text = _head(draw, (3, 1, 0, -0.1)) + (
        f"[indoor.room]\ntemperature = {draw.one((-20, 20, 40))}\nhumidity = {draw.one((0.1, 0.5, 0.95))}\n"
        f"[bounds]\nx = [{-left}, {wide}]\ny = [{-depth}, {top}]\n"
        f'[[opening]]\nname = "out"\nclimate = "outdoors"\nx = [{-left}, 0]\ny = [0, {top}]\n'
        f'[[opening]]\nname = "in"\nclimate = "room"\nx = [{edges[-1]}, {wide}]\ny = [{floor}, {top}]\n'
        f'[[region]]\nname = "ground left"\nmaterial = "{draw.one(draw.soils)}"\nx = [{-left}, 0]\ny = [{-depth}, 0]\n'
        f'[[region]]\nname = "ground"\nmaterial = "{draw.one(draw.soils)}"\nx = [0, {wide}]\ny = [{-depth}, {floor}]\n'
    )
    for number in range(len(widths)):
        wet = f"initial_humidity = {draw.one((0.05, 0.9, 1.0))}\n" if draw.often(0.4) else ""
        text += (
            f'[[region]]\nname = "layer {number}"\nmaterial = "{draw.one(draw.solids)}"\n'
            f"x = [{edges[number]}, {edges[number + 1]}]\ny = [{foot}, {top}]\n{wet}"
        )
        text += f'[[probe]]\nname = "p{number}"\nx = {edges[number + 1]}\ny = {high}\n'
    if draw.often(0.5):
        text += f'[[edge]]\nside = "bottom"\nkind = "ground"\nwater = "{draw.one(("closed", "drainage", "table"))}"\n'
    if draw.often(0.4):
        middle = round(0.5 * (edges[0] + edges[1]), 6)
        text += (
            f'[[leak]]\nname = "leak"\nx = {middle}\ny = {high}\namount = {draw.one((0.01, 0.5, 5, 100))}\n'
            f"start_hour = 5\nhours = {draw.one((1, 48))}\n"
        )
    return text + _flood(draw, (0.1, high))


def _detail(draw: _Draw) -> str:
    """A house, built well or badly."""
    kind = draw.one(sorted(DETAILS))
    vented = "[zone.crawlspace]\nvents = { ratio = 0.00667 }\n" if "crawlspace" in kind and draw.often(0.5) else ""
    return (
        _head(draw, (8, 1, 0.3)).replace("finest = 0.002", "finest = 0.01")
        + f'[indoor.house]\ntemperature = {draw.one((5, 20, 30))}\nhumidity = {draw.one((0.2, 0.5, 0.8))}\n{vented}'
        f'[detail]\nkind = "{kind}"\nworkmanship = {{ preset = "{draw.one(("good", "poor"))}" }}\n'
        + _flood(draw, (0.05, 0.3))
    )  # fmt: skip


def _flood(draw: _Draw, levels: tuple[float, ...]) -> str:
    """Water that stands outdoors for a day, now and then."""
    if not draw.often(0.3):
        return ""
    return f'[[flood]]\nname = "flood"\nlevel = {draw.one(levels)}\nstart_hour = 10\nhours = 24\n'
