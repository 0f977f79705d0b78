"""Pictures of an answer: what each source brings, by number of the place."""

from __future__ import annotations

import textwrap

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from stemwall.cases.inputs.display_units import number
from stemwall.cases.investigation.answer import Answer
from stemwall.cases.investigation.effects import Effect
from stemwall.cases.report.style import INK, LIMIT, WIDTH

FILL = "#35546b"
#: room for the numbers at the right of a panel, as a share of the rest, and letters in a line of its title
RIGHT, LETTERS = 0.3, 20


def share_bars(answer: Answer) -> Figure:
    """Return bars of the shares, a panel for each number of the place, its leading one first and wider."""
    effects, count = answer.effects, len(answer.sources)
    figure = Figure(figsize=(WIDTH, 1.6 + 0.45 * count))
    widths = [1.7, *([1.0] * (len(effects) - 1))]
    panels = figure.subplots(1, len(effects), sharey=True, squeeze=False, width_ratios=widths)[0]
    order = np.argsort(-np.abs(answer.shares(answer.lead).share), kind="stable")
    for axes, effect in zip(panels, effects, strict=True):
        _panel(axes, answer, effect, order.tolist())
    panels[0].set_yticks(np.arange(count), [answer.sources[k].name for k in order])
    panels[0].invert_yaxis()
    handles = [
        Patch(facecolor=FILL, label="share (mean over all orders)"),
        Line2D([], [], color=LIMIT, marker="|", markersize=11, linewidth=0, label="lost if it alone is switched off"),
        Line2D(
            [], [], color=INK, marker="o", markerfacecolor="white", linewidth=0, label="brought if it alone is there"
        ),
    ]
    figure.legend(handles=handles, loc="outside lower center", ncols=3)
    return figure


def _panel(axes: Axes, answer: Answer, effect: Effect, order: list[int]) -> None:
    place = np.arange(len(order), dtype=np.float64)
    found = answer.shares(effect)
    share, spread = found.share[order], found.spread[order]
    error = spread if spread.any() else None
    axes.barh(place, share, height=0.55, color=FILL, linewidth=0, xerr=error, ecolor=INK)
    for y, value in zip(place, share, strict=True):
        # at the edge of the panel, clear of what stands on and beside the bars
        axes.text(1.0, y, number(float(value), effect.digits), transform=axes.get_yaxis_transform(), ha="right",
                  va="center", fontsize=7.5)  # fmt: skip
    away = [answer.taken_away(effect, k) for k in order]
    alone = [answer.brought_alone(effect, k) for k in order]
    axes.plot(away, place, linestyle="none", marker="|", markersize=13, markeredgewidth=1.8, color=LIMIT, zorder=4)
    axes.plot(alone, place, linestyle="none", marker="o", markersize=4.5, markerfacecolor="white", color=INK, zorder=4)
    axes.axvline(0.0, color=INK, linewidth=0.8)
    axes.grid(axis="y", visible=False)
    low, high = axes.get_xlim()
    axes.set_xlim(low, high + RIGHT * (high - low))
    axes.locator_params(axis="x", nbins=3)
    value = f"{number(answer.with_all(effect), effect.digits)} {effect.unit}".strip()
    limit = "no limit" if effect.limit is None else f"limit {number(effect.limit, effect.digits)}"
    axes.set_title("\n".join([*textwrap.wrap(effect.name, LETTERS), value, limit]), fontsize=8.0)
    axes.set_xlabel(effect.unit or "index")
