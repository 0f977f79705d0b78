"""Commented sheets to begin with."""

from __future__ import annotations

from importlib.resources import files

#: file of each by the name that the command line gives it
SHEETS = {"sheet": "sheet.toml", "soil-sheet": "soil_sheet.toml", "membrane-sheet": "membrane_sheet.toml"}


def starter_sheet(name: str) -> str:
    """Return the text of a commented sheet with invented data."""
    return files("stemwall.cases.laboratory").joinpath(SHEETS[name]).read_text(encoding="utf-8")
