"""Bars of heat and of water by what brings them, variants side by side; they show the numbers of the ledgers."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch
from numpy.typing import NDArray

from stemwall.cases.report.style import INK, WIDTH
from stemwall.cases.results.ledger_tables import Account, Shown

Floats = NDArray[np.float64]

#: dark and light, apart in grey; the light one is hatched as well
FILLS = (("#35546b", ""), ("#d9c48f", "////"))
#: panels in a row
ACROSS = 4


def heat_bars(accounts: Sequence[Account]) -> Figure:
    """Return net heat into the balance from each group by season."""
    words = accounts[0].seasons
    return _bars(accounts, [account.heat for account in accounts], [account.heat.groups for account in accounts], words)


def water_bars(accounts: Sequence[Account]) -> Figure:
    """Return net vapour and liquid into the balance from each group."""
    ways = ("vapour", "liquid")
    tables = [
        pd.DataFrame({f"{way}, net": table[f"{way} in"] - table[f"{way} out"] for way in ways})
        for table in (account.water.groups for account in accounts)
    ]
    return _bars(accounts, [account.water for account in accounts], tables, [f"{way}, net" for way in ways])


def _bars(
    accounts: Sequence[Account], shown: Sequence[Shown], tables: Sequence[pd.DataFrame], columns: Sequence[str]
) -> Figure:
    groups = [
        name
        for name in dict.fromkeys(str(name) for table in tables for name in table.index)
        if any(_value(table, name, column) != 0.0 for table in tables for column in columns)
    ] or [str(tables[0].index[0])]
    rows = ceil(len(groups) / ACROSS)
    across = min(ACROSS, len(groups))
    figure = Figure(figsize=(WIDTH, 0.35 + rows * (0.9 + 0.46 * len(accounts))))
    panels = figure.subplots(rows, across, sharey=True, squeeze=False).ravel()
    place = np.arange(len(accounts), dtype=np.float64)
    for axes, group in zip(panels, groups, strict=False):
        for order, (column, (fill, hatch)) in enumerate(zip(columns, FILLS, strict=True)):
            values = np.array([_value(table, group, column) for table in tables])
            _row(axes, shown[0], np.asarray(place + 0.19 * (2 * order - 1)), values, fill, hatch)
        axes.axvline(0.0, color=INK, linewidth=0.8)
        axes.set_title(group)
        axes.margins(x=0.42)
        axes.grid(axis="y", visible=False)
        axes.set_xlabel(shown[0].quantity.unit)
        axes.locator_params(axis="x", nbins=4)
    for axes in panels[len(groups) :]:
        axes.set_axis_off()
    panels[0].set_yticks(place, [account.name for account in accounts])
    panels[0].invert_yaxis()
    handles = [
        Patch(facecolor=fill, hatch=hatch, edgecolor="white", linewidth=0, label=word)
        for word, (fill, hatch) in zip(columns, FILLS, strict=True)
    ]
    figure.legend(handles=handles, loc="outside upper left", ncols=2)
    return figure


def _row(axes: Axes, shown: Shown, place: Floats, values: Floats, fill: str, hatch: str) -> None:
    bars = axes.barh(place, values, height=0.36, color=fill, hatch=hatch, edgecolor="white", linewidth=0)
    axes.bar_label(bars, [shown.text(float(value)) for value in values], padding=3, fontsize=7.0)


def _value(table: pd.DataFrame, group: str, column: str) -> float:
    return float(table.loc[group, column]) if group in table.index else 0.0
