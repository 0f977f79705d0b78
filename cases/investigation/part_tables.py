"""The ledger of a part as a page shows it: tables that add up to the digits shown, and bars on the section."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import floor, log10
from typing import Any

import numpy as np
import pandas as pd
from markupsafe import Markup
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch, Rectangle
from numpy.typing import NDArray

from stemwall.cases.inputs.display_units import KILOWATT_HOUR, Quantity, System, Units, number
from stemwall.cases.investigation.faces import Face
from stemwall.cases.investigation.part_ledger import HEAT, LIQUID, STREAMS, VAPOUR, PartLedger
from stemwall.cases.report import style as figures
from stemwall.cases.report.section_plot import Sketch, Window
from stemwall.cases.report.style import INK, WIDTH
from stemwall.cases.results.ledger_tables import Shown, shown
from stemwall.materials.material import Material
from stemwall.solver.model.section import Section

Floats = NDArray[np.float64]

YEAR, GRAMS = "together", 1000.0
#: significant digits of the largest number of a table
DIGITS = 3
#: colours of vapour, liquid and heat; dark and light apart in grey
COLOURS = {"vapour": "#d9a441", "liquid": "#2f6f8f", "heat": "#8a3b12"}
#: hatch of each season
HATCHES = ("", "////")
#: longest bar, and room around the part, as shares of the part's larger dimension
LONGEST, ROOM = 0.5, 0.75
#: a face is drawn at least so long, as a share of that dimension
SHORTEST = 0.08


@dataclass(frozen=True)
class PageTable:
    """One table: its name, columns, rows and last rows as text."""

    name: str
    columns: list[str]
    rows: list[tuple[str, list[str]]]
    foot: list[tuple[str, list[str]]]


@dataclass(frozen=True)
class PageLedger:
    """What a page shows of the ledger of a part."""

    part: str
    lead: str
    picture: Markup
    caption: str
    tables: list[PageTable]
    note: str


def page_ledger(
    found: PartLedger, section: Section, materials: Mapping[str, Material], system: System = "SI"
) -> PageLedger:
    """Return what a page shows of a ledger, in metric or inch-pound units."""
    units = Units(system)
    water, heat = _water(found, units), _heat(found, units)
    with figures.style("part ledger"):
        picture = figures.svg(section_bars(found, section, materials, units), f"what crossed the faces of {found.part}")
    caption = (
        "Bars stand on the faces of the part and are as long as what crossed is large, whichever way it went; numbers "
        "are the sum of a face, positive into the part. Left: water as vapour and as liquid; right: heat. "
        f"Plain: {found.seasons[0]}{f'; hatched: {found.seasons[1]}' if len(found.seasons) > 1 else ''}."
    )
    return PageLedger(
        found.part,
        _lead(found, water),
        Markup(picture),
        caption,
        [_table(f"Water, {water.quantity.unit}", water, found), _table(f"Heat, {heat.quantity.unit}", heat, found)],
        _note(found),
    )


def _note(found: PartLedger) -> str:
    heat, water = (f"{100.0 * share:.2g} %" for share in found.led)
    return (
        f"Per metre along the wall, {found.hours:,} hours; positive enters the part. What passes to air, to an edge or "
        "into a drain is what the run books; inside solids it is what leaves a face along the part's own paths and "
        "what the nodes on the face store, from the ends of hours joined by straight lines. Where that misses the "
        "balance of an inner node, the rest is led to the faces along the part's paths: "
        f"{water} of the water and {heat} of the heat that crossed from hour to hour. Vapour and liquid are told apart "
        "by how water moves inside the part at the face, and through a membrane by the membrane's own law."
    )


def _names(found: PartLedger) -> list[str]:
    return [f"{name} ({months})" for name, months in zip(found.seasons, found.months, strict=True)]


def _lead(found: PartLedger, water: Shown) -> str:
    net = water.rows[YEAR].droplevel("group") if YEAR in water.rows else water.rows.iloc[:, -1].droplevel("group")
    unit, change = water.quantity.unit, float(water.change.iloc[-1])
    word = "gained" if change > 0.0 else "lost"
    parts = [f"Over {found.hours:,} hours {found.part} {word} {water.text(abs(change))} {unit} of water."]
    if float(net.max()) > 0.0:
        parts.append(f"Most came in by “{net.idxmax()}”: {water.text(float(net.max()))} {unit}.")
    if float(net.min()) < 0.0:
        parts.append(f"Most went out by “{net.idxmin()}”: {water.text(-float(net.min()))} {unit}.")
    return " ".join(parts)


def _fitting(quantity: Quantity, values: Floats) -> Quantity:
    """Return a quantity with so many decimals that its largest value has `DIGITS` digits."""
    largest = float(np.abs(quantity.of(values)).max(initial=0.0))
    if largest == 0.0:
        return quantity
    return replace(quantity, digits=max(0, DIGITS - 1 - floor(log10(largest))))


def _water(found: PartLedger, units: Units) -> Shown:
    quantity = units["water"]
    flows = found.flows[:, :, VAPOUR:]
    if not units.inches and float(np.abs(flows).max(initial=0.0)) < 1.0:
        quantity = Quantity("g/m", GRAMS)
    quantity = _fitting(quantity, flows)
    columns: dict[str, Floats] = {}
    relations: list[Mapping[str, float]] = []
    error: dict[str, float] = {}
    for season, name in enumerate(_names(found)):
        vapour, liquid, net = f"{name}: vapour", "liquid" + " " * season, "net" + " " * season
        columns |= {vapour: flows[season, :-1, 0], liquid: flows[season, :-1, 1], net: flows[season, :-1].sum(axis=1)}
        relations.append({net: 1.0, vapour: -1.0, liquid: -1.0})
        error[net] = float(flows[season, -1].sum())
    return _closed(found, columns, relations, error, quantity)


def _heat(found: PartLedger, units: Units) -> Shown:
    heat = found.flows[:, :, HEAT] / KILOWATT_HOUR
    columns = {name: heat[season, :-1] for season, name in enumerate(_names(found))}
    error = {name: float(heat[season, -1]) for season, name in enumerate(_names(found))}
    return _closed(found, columns, [], error, _fitting(units["heat"], heat))


def _closed(
    found: PartLedger,
    columns: dict[str, Floats],
    relations: list[Mapping[str, float]],
    error: dict[str, float],
    quantity: Quantity,
) -> Shown:
    """Return the table rounded so that it closes, with a column for all seasons if there are several."""
    if len(found.seasons) > 1:
        columns = {**columns, YEAR: np.sum([columns[name] for name in error], axis=0)}
        relations = [*relations, {YEAR: 1.0, **dict.fromkeys(error, -1.0)}]
        error = {**error, YEAR: sum(error.values())}
    index = pd.MultiIndex.from_arrays([["faces"] * (len(found.rows) - 1), found.rows[:-1]], names=["group", "name"])
    return shown(pd.DataFrame(columns, index=index), relations, error, quantity)


def _table(name: str, rounded: Shown, found: PartLedger) -> PageTable:
    def texts(row: pd.Series) -> list[str]:
        return ["" if pd.isna(value) else rounded.text(float(value)) for value in row]

    columns = list(rounded.rows.columns)
    rows = [(str(key[1]), texts(row)) for key, row in rounded.rows.iterrows()]
    error, change = rounded.error.reindex(columns), rounded.change.reindex(columns)
    foot = [("sum", texts(rounded.whole)), (found.rows[-1], texts(error)), ("stored since", texts(change))]
    if not rounded.error.any() and found.rows[-1] != STREAMS:
        del foot[1]
    return PageTable(name, [str(column).strip() for column in columns], rows, foot)


def section_bars(found: PartLedger, section: Section, materials: Mapping[str, Material], units: Units) -> Figure:
    """Return the part in its section, twice, with bars on its faces: water at the left, heat at the right."""
    region = next(region for region in section.regions if region.name == found.part)
    size = max(region.x1 - region.x0, region.y1 - region.y0)
    room = ROOM * size
    window = Window(
        max(section.x0, region.x0 - room), max(section.y0, region.y0 - room),
        min(section.x1, region.x1 + room), min(section.y1, region.y1 + room),
    )  # fmt: skip
    tall = (window.y1 - window.y0) / (window.x1 - window.x0)
    figure = Figure(figsize=(WIDTH, min(8.5, 0.6 + 0.47 * WIDTH * tall)))
    panels = figure.subplots(1, 2)
    water, heat = _water(found, units).quantity, _heat(found, units).quantity
    flows = found.flows[:, : len(found.faces)]
    kinds = (
        ("water", water, {"vapour": flows[:, :, VAPOUR], "liquid": flows[:, :, LIQUID]}),
        ("heat", heat, {"heat": flows[:, :, HEAT] / KILOWATT_HOUR}),
    )
    sketch = Sketch(section, materials, inches=units.inches)
    for axes, (word, quantity, values) in zip(panels, kinds, strict=True):
        sketch.draw(axes, window, fine=False)
        _bars(axes, found.faces, quantity, values, size)
        axes.set_title(f"{word}, {quantity.unit}")
        axes.grid(visible=False)
        axes.set(xlim=(window.x0, window.x1), ylim=(window.y0, window.y1), xticks=[], yticks=[], xlabel="", ylabel="")
    handles = [Patch(facecolor=colour, label=name) for name, colour in COLOURS.items()]
    handles += [
        Patch(facecolor="white", edgecolor=INK, hatch=hatch, label=name)
        for hatch, name in zip(HATCHES, found.seasons, strict=False)
    ]
    figure.legend(handles=handles, loc="outside lower center", ncols=len(handles))
    return figure


def _bars(axes: Axes, faces: tuple[Face, ...], quantity: Quantity, values: Mapping[str, Floats], size: float) -> None:
    largest = max((float(np.abs(each).max(initial=0.0)) for each in values.values()), default=0.0)
    if largest == 0.0:
        return
    seasons = next(iter(values.values())).shape[0]
    for number_, face in enumerate(faces):
        wide = max(face.length, SHORTEST * size) / (seasons * len(values))
        start = -0.5 * wide * seasons * len(values)
        for place, (kind, season) in enumerate((kind, season) for kind in values for season in range(seasons)):
            value = float(values[kind][season, number_])
            _bar(axes, face, start + place * wide, wide, LONGEST * size * abs(value) / largest, COLOURS[kind], season)
        total = float(sum(each[:, number_].sum() for each in values.values()))
        if round(float(quantity.of(total)), quantity.digits):
            _label(axes, face, number(float(quantity.of(total)), quantity.digits), 0.02 * size)


def _bar(axes: Axes, face: Face, along: float, wide: float, long: float, colour: str, season: int) -> None:
    x, y = face.middle
    look: dict[str, Any] = {
        "facecolor": colour,
        "edgecolor": "white",
        "hatch": HATCHES[season],
        "linewidth": 0.4,
        "zorder": 8,
    }
    if face.side in ("above", "below"):
        axes.add_patch(Rectangle((x + along, y if face.side == "above" else y - long), 0.92 * wide, long, **look))
    else:
        axes.add_patch(Rectangle((x - long if face.side == "left" else x, y + along), long, 0.92 * wide, **look))


def _label(axes: Axes, face: Face, text: str, off: float) -> None:
    shift = {"above": (0.0, off), "below": (0.0, -off), "left": (-off, 0.0), "right": (off, 0.0)}[face.side]
    align = {"above": ("center", "bottom"), "below": ("center", "top"), "left": ("right", "center"),
             "right": ("left", "center")}[face.side]  # fmt: skip
    axes.text(
        face.middle[0] + shift[0], face.middle[1] + shift[1], text, ha=align[0], va=align[1], fontsize=7.5, zorder=9,
        color=INK, bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6, "alpha": 0.8}, clip_on=True,
    )  # fmt: skip
