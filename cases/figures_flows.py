"""Bars of heat and of water by climate, variants side by side."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch
from numpy.typing import NDArray

from stemwall.cases import report_flows as flows
from stemwall.cases.figures import INK, WIDTH
from stemwall.cases.report_data import Variant
from stemwall.cases.report_units import Quantity, Units, number

Floats = NDArray[np.float64]

#: dark and light, apart in grey; the light one is hatched as well
FILLS = (("#35546b", ""), ("#d9c48f", "////"))


def heat_bars(variants: Sequence[Variant], units: Units) -> Figure:
    """Return net heat into the section from each climate by season."""
    tables = [flows.by_climate(flows.heat(variant)) for variant in variants]
    words = [season.name for season in flows.seasons(variants[0])]
    return _bars(variants, tables, words, words, units["heat"])


def water_bars(variants: Sequence[Variant], units: Units) -> Figure:
    """Return net vapour and liquid into the section from each climate."""
    tables = []
    for variant in variants:
        table = flows.by_climate(flows.water(variant))
        tables.append(
            pd.DataFrame(
                {way: table[f"{way} in"] - table[f"{way} out"] for way in ("vapour", "liquid")},
                index=table.index,
            )
        )
    return _bars(variants, tables, ["vapour", "liquid"], ["vapour, net", "liquid, net"], units["water"])


def _bars(
    variants: Sequence[Variant],
    tables: list[pd.DataFrame],
    columns: list[str],
    words: list[str],
    shown: Quantity,
) -> Figure:
    climates = list(dict.fromkeys(name for table in tables for name in table.index))
    figure = Figure(figsize=(WIDTH, 1.25 + 0.46 * len(variants)))
    panels = figure.subplots(1, len(climates), sharey=True, squeeze=False)[0]
    place = np.arange(len(variants), dtype=np.float64)
    for axes, climate in zip(panels, climates, strict=True):
        for order, (column, (fill, hatch)) in enumerate(zip(columns, FILLS, strict=True)):
            values = np.array([_value(table, climate, column) for table in tables])
            _row(axes, np.asarray(place + 0.19 * (2 * order - 1)), shown.of(values), fill, hatch)
        axes.axvline(0.0, color=INK, linewidth=0.8)
        axes.set_title(f"from {climate}")
        axes.margins(x=0.42)
        axes.grid(axis="y", visible=False)
        axes.set_xlabel(shown.unit)
        axes.locator_params(axis="x", nbins=4)
    panels[0].set_yticks(place, [variant.name for variant in variants])
    panels[0].invert_yaxis()
    handles = [
        Patch(facecolor=fill, hatch=hatch, edgecolor="white", linewidth=0, label=word)
        for word, (fill, hatch) in zip(words, FILLS, strict=True)
    ]
    figure.legend(handles=handles, loc="outside upper left", ncols=2)
    return figure


def _row(
    axes: Axes,
    place: Floats,
    values: Floats,
    fill: str,
    hatch: str,
) -> None:
    bars = axes.barh(place, values, height=0.36, color=fill, hatch=hatch, edgecolor="white", linewidth=0)
    axes.bar_label(
        bars, [number(float(v), 1 if abs(v) < 100 else 0) for v in values], padding=3, fontsize=7.0
    )


def _value(table: pd.DataFrame, climate: str, column: str) -> float:
    return float(table.loc[climate, column]) if climate in table.index else 0.0
