"""Hatching of section drawings: one pattern and one light tint per kind of material, readable in grey."""

from __future__ import annotations

from dataclasses import dataclass

from stemwall.materials.material import Hatch


@dataclass(frozen=True)
class Look:
    """How one kind of material is drawn: label, tint of the ground, pattern of the strokes."""

    label: str
    tint: str
    pattern: str


INK = "#2b2b2b"
STROKE = "#8a8782"
PAPER = "#ffffff"
AIR_TINT = "#fbfcfd"

LOOKS: dict[Hatch, Look] = {
    "concrete": Look("concrete", "#d9d8d5", "..o"),
    "masonry": Look("masonry", "#e0d3cb", "///"),
    "soil": Look("soil", "#ebe6da", "\\\\"),
    "gravel": Look("gravel, stone", "#eeece6", "oo"),
    "sand": Look("sand", "#f3efe0", "..."),
    "insulation": Look("insulation", "#f4e6e4", "xxx"),
    "wood": Look("wood", "#ead9bd", "//"),
    "board": Look("board", "#dccdb4", "|||"),
    "flooring": Look("flooring", "#cfd6d3", "--"),
    "air": Look("air layer", "#f2f6f8", ""),
}
