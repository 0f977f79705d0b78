"""Shared by all figures of a report: style, variant lines, season shading, and SVG text for a page."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.dates import AutoDateLocator, ConciseDateFormatter
from matplotlib.figure import Figure
from numpy.typing import NDArray

INK, FAINT, LIMIT = "#26323a", "#d8d5cf", "#8a3b12"
#: inches across the page
WIDTH = 10.4
STYLE = {
    "font.size": 8.5,
    "axes.titlesize": 9.0,
    "axes.titlelocation": "left",
    "axes.labelsize": 8.5,
    "axes.edgecolor": "#8b8f92",
    "axes.labelcolor": INK,
    "axes.linewidth": 0.6,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.grid": True,
    "axes.axisbelow": True,
    "grid.color": "#e9e7e2",
    "grid.linewidth": 0.6,
    "xtick.color": INK,
    "ytick.color": INK,
    "xtick.labelsize": 7.5,
    "ytick.labelsize": 7.5,
    "text.color": INK,
    "legend.frameon": False,
    "legend.fontsize": 8.5,
    "figure.constrained_layout.use": True,
    "svg.fonttype": "none",
    "path.simplify_threshold": 0.3,
}
_DASHES: tuple[str | tuple[int, tuple[float, ...]], ...] = (
    "-", (0, (5, 1.6)), (0, (1.2, 1.2)), (0, (6, 1.4, 1.2, 1.4)), (0, (9, 2)), (0, (3, 1, 1, 1, 1, 1)),
)  # fmt: skip


@dataclass(frozen=True)
class Line:
    """How one variant is drawn everywhere: colour, dash pattern, width."""

    colour: str
    dash: str | tuple[int, tuple[float, ...]]
    width: float


def lines(names: Sequence[str]) -> dict[str, Line]:
    """Return a line for every variant; the first, the base, is dark, solid and heavier."""
    shades = matplotlib.colormaps["viridis"](np.linspace(0.28, 0.82, max(1, len(names) - 1)))
    found = {names[0]: Line(INK, "-", 1.5)} if names else {}
    for number, (name, shade) in enumerate(zip(names[1:], shades, strict=False), start=1):
        found[name] = Line(matplotlib.colors.to_hex(shade), _DASHES[number % len(_DASHES)], 1.25)
    return found


@contextmanager
def style(salt: str) -> Iterator[None]:
    """Set the style of a report's figures; ``salt`` keeps the ids of inlined figures apart."""
    with matplotlib.rc_context({**STYLE, "svg.hashsalt": salt}):
        yield


def svg(figure: Figure, label: str) -> str:
    """Return a figure as an inline SVG element that scales with the page.

    Parameters
    ----------
    figure : Figure
        What is drawn.
    label : str
        Said by a screen reader in place of the figure.
    """
    buffer = io.StringIO()
    figure.savefig(buffer, format="svg", dpi=170, metadata={"Date": None, "Creator": None})
    text = buffer.getvalue()
    text = re.sub(r"<metadata>.*?</metadata>", "", text[text.index("<svg") :], flags=re.DOTALL)
    text = re.sub(r'\s(?:width|height)="[\d.]+pt"', "", text, count=2)
    quoted = label.replace("&", "&amp;").replace('"', "&quot;").replace("<", "&lt;")
    return text.replace("<svg", f'<svg role="img" aria-label="{quoted}"', 1)


def date_axis(axes: Axes) -> None:
    """Give a time axis short date labels."""
    locator = AutoDateLocator(minticks=3, maxticks=7)
    axes.xaxis.set_major_locator(locator)
    axes.xaxis.set_major_formatter(ConciseDateFormatter(locator, show_offset=False))


def limit_line(axes: Axes, value: float, text: str) -> None:
    """Draw a limit with its words at the left end."""
    axes.axhline(value, color=LIMIT, linewidth=1.0, linestyle=(0, (7, 2)), zorder=3)
    axes.annotate(
        text, (0.01, value), (0, 2), xycoords=("axes fraction", "data"), textcoords="offset points",
        fontsize=7.0, color=LIMIT, va="bottom", annotation_clip=True,
    )  # fmt: skip


def means(
    time: NDArray[np.datetime64], values: NDArray[np.float64]
) -> tuple[NDArray[np.datetime64], NDArray[np.float64]]:
    """Return means for drawing: hourly up to two weeks, daily up to three years, else weekly.

    The time stamps are the middles of the means; an incomplete last group is left out.
    """
    hours = len(time)
    window = 1 if hours <= 336 else 24 if hours <= 3 * 8760 else 168
    count = hours // window
    grouped = values[: count * window].reshape(count, window).mean(axis=1)
    middles = time[: count * window].reshape(count, window)[:, window // 2]
    return middles, np.asarray(grouped, dtype=np.float64)


def mean_word(hours: int) -> str:
    """Return what `means` draws of a run of so many hours."""
    return "hourly values" if hours <= 336 else "daily means" if hours <= 3 * 8760 else "weekly means"
