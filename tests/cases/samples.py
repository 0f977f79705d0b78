"""A small valid free-form case for tests: a wall on soil between outdoors and one room."""

from __future__ import annotations

from pathlib import Path

from stemwall.cases.case_file.read import CaseFile, parse_case
from stemwall.cases.inputs.input_errors import CaseError, Problem
from stemwall.cases.setup.build import Setup, build

WALL = """\
[case]
title = "A wall on soil"
[run]
years = 0.01
[indoor.room]
temperature = 20
humidity = "50 %"
[bounds]
x = [-1, 1.2]
y = [-1, 1]
[[opening]]
name = "air outside"
climate = "outdoors"
x = [-1, 0]
y = [0, 1]
[[opening]]
name = "air inside"
climate = "room"
x = [0.2, 1.2]
y = [0, 1]
[[region]]
name = "soil"
material = "soil_loam"
x = [-1, 1.2]
y = [-1, 0]
[[region]]
name = "wall"
material = "concrete_wc050"
x = [0, "200 mm"]
y = [0, 1]
[[membrane]]
name = "break"
material = "sill_gasket"
x = [0, 0.2]
y = 0
[[edge]]
side = "bottom"
kind = "ground"
water = "table"
[[probe]]
name = "inner face"
x = 0.2
y = 0.5
region = "wall"
"""


def read(text: str) -> CaseFile:
    """Return the case file of a text."""
    return parse_case(text, Path("wall.toml"))


def setup(text: str) -> Setup:
    """Return the set-up of the base of a text."""
    return build(read(text).base)


def changed(old: str, new: str, text: str = WALL) -> str:
    """Return the text with one passage replaced; the passage must be there."""
    assert old in text, old
    return text.replace(old, new, 1)


def problems(text: str) -> list[Problem]:
    """Return what is wrong with a text."""
    try:
        setup(text)
    except CaseError as error:
        return list(error.problems)
    return []


def line_of(text: str, passage: str) -> int:
    """Return the line on which a passage begins, counted from 1."""
    return text[: text.index(passage)].count("\n") + 1
