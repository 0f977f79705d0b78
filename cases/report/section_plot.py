"""One section drawn into axes: hatched regions, outlines, membranes, water table, probes, dimensions."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.patches import Ellipse, PathPatch
from matplotlib.path import Path
from matplotlib.ticker import FuncFormatter, MultipleLocator

from stemwall.cases.inputs.display_units import feet
from stemwall.cases.report.hatching import AIR_TINT, INK, LOOKS, PAPER, STROKE
from stemwall.cases.section.section_checks import Painted
from stemwall.materials.material import Hatch, Material
from stemwall.solver.model.section import Opening, Region, Section

GROUND = ("soil", "gravel", "sand")
ARROW = {"arrowstyle": "<|-|>", "lw": 0.6, "color": INK, "shrinkA": 0, "shrinkB": 0, "mutation_scale": 5}
FOOT = 0.3048
#: size of the close-up beside and below what is built [m]
MARGIN_LEFT, MARGIN_BELOW, CLOSE_UP_WIDTH = 0.55, 0.25, 1.75
#: how far the built part below grade may stand out before the close-up widens for it [m]
MARGIN_ABOVE = 0.1


@dataclass(frozen=True)
class Window:
    """A part of the section [m]."""

    x0: float
    y0: float
    x1: float
    y1: float


def close_up(section: Section, materials: Mapping[str, Material]) -> Window:
    """Return the surroundings of what is built on the side that meets the outdoors."""
    built = [r for r in section.regions if materials[r.material].hatch not in GROUND] or list(section.regions)
    left, low = min(r.x0 for r in built), min(r.y0 for r in built)
    above = min((r.x0 for r in built if r.y1 > 0), default=left) - MARGIN_ABOVE
    return Window(
        max(section.x0, left - MARGIN_LEFT),
        max(section.y0, low - MARGIN_BELOW),
        min(section.x1, max(left, above) + CLOSE_UP_WIDTH),
        section.y1,
    )


class Sketch:
    """Draws one section into several axes."""

    def __init__(self, section: Section, materials: Mapping[str, Material], *, inches: bool) -> None:
        self.section, self.materials, self.inches = section, materials, inches
        self.painted = Painted(section)

    def draw(self, axes: Axes, window: Window, *, fine: bool) -> None:
        """Draw the part of the section in a window."""
        with matplotlib.rc_context({"hatch.linewidth": 0.35}):
            for number, item in enumerate(self.section.items):
                self._paint(axes, number, item)
        axes.add_collection(LineCollection(self._outlines(), colors=INK, linewidths=0.9 if fine else 0.35, zorder=3))
        axes.add_collection(
            LineCollection(
                [[(m.x0, m.y0), (m.x1, m.y1)] for m in self.section.membranes],
                colors=INK,
                linewidths=2.6 if fine else 1.2,
                zorder=4,
                capstyle="butt",
            )
        )
        self._draw_drains(axes)
        if fine:
            self._label_openings(axes, window)
        self._draw_water_table(axes, window)
        self._mark_probes(axes, window, fine=fine)
        self._set_axes(axes, window)

    def kinds(self) -> list[tuple[Hatch, list[str]]]:
        """Return the kinds of material that appear, with the names of their materials."""
        kinds: dict[Hatch, list[str]] = {}
        for key in self.section.materials:
            material = self.materials[key]
            kinds.setdefault(material.hatch, []).append(material.name)
        return list(kinds.items())

    def dimensions(self, axes: Axes, window: Window) -> None:
        """Draw a chain of heights at the right and one of widths at the bottom."""
        built = [r for r in self.section.regions if self.materials[r.material].hatch not in GROUND]
        inside = [r for r in built if r.x0 < window.x0 + 0.62 * (window.x1 - window.x0)]
        heights = chain([v for r in inside for v in (r.y0, r.y1)] + [0.0], window.y0, window.y1, 0.03)
        concrete = [r for r in inside if self.materials[r.material].hatch in ("concrete", "masonry")]
        within = [v for r in concrete for v in (r.x0, r.x1) if v < window.x1]
        widths = chain(within, window.x0, window.x1, 0.06)
        x = window.x1 - 0.03 * (window.x1 - window.x0)
        y = window.y0 + 0.05 * (window.y1 - window.y0)
        for low, high in itertools.pairwise(heights):
            self._dimension(axes, (x, low), (x, high))
        for left, right in itertools.pairwise(widths):
            self._dimension(axes, (left, y), (right, y))

    def length(self, value: float) -> str:
        """Return a length in feet and inches, or in metres without the unit."""
        return feet(value) if self.inches else f"{value:.3f}"

    def _dimension(self, axes: Axes, start: tuple[float, float], end: tuple[float, float]) -> None:
        upright = start[0] == end[0]
        axes.annotate("", end, start, arrowprops=ARROW, zorder=6)
        size = abs(end[1] - start[1]) if upright else abs(end[0] - start[0])
        middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        offset = (-4, 0) if upright else (0, -4)
        axes.annotate(
            self.length(size), middle, offset, textcoords="offset points", fontsize=6.0, color=INK, zorder=7,
            ha="right" if upright else "center",
            va="center" if upright else "top",
            bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.6, "alpha": 0.85},
        )  # fmt: skip

    def _paint(self, axes: Axes, number: int, item: Region | Opening) -> None:
        path = self._path(number)
        if path is None:
            return
        if isinstance(item, Opening):
            axes.add_patch(PathPatch(path, facecolor=AIR_TINT, linewidth=0, zorder=1))
            return
        look = LOOKS[self.materials[item.material].hatch]
        axes.add_patch(
            PathPatch(path, facecolor=look.tint, edgecolor=STROKE, hatch=look.pattern, linewidth=0, zorder=1)
        )

    def _path(self, number: int) -> Path | None:
        """Return what is seen of an item, as a path of rectangles."""
        xs, ys = self.painted.xs, self.painted.ys
        corners: list[tuple[float, float]] = []
        for j, row in enumerate(self.painted.owner == number):
            edges = np.flatnonzero(np.diff(np.concatenate([[False], row, [False]]).astype(int)))
            for first, last in edges.reshape(-1, 2):
                x0, x1, y0, y1 = xs[first], xs[last], ys[j], ys[j + 1]
                corners += [(x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)]
        if not corners:
            return None
        codes = [Path.MOVETO, Path.LINETO, Path.LINETO, Path.LINETO, Path.CLOSEPOLY]
        return Path(corners, codes * (len(corners) // 5))

    def _outlines(self) -> list[list[tuple[float, float]]]:
        """Return the lines between different materials, and between solid and air."""
        keys = [item.material if isinstance(item, Region) else "" for item in self.section.items]
        names = {key: number for number, key in enumerate(dict.fromkeys(keys))}
        kind = np.array([names[key] for key in keys])[self.painted.owner]
        xs, ys = self.painted.xs, self.painted.ys
        across = np.argwhere(kind[:, 1:] != kind[:, :-1])
        along = np.argwhere(kind[1:, :] != kind[:-1, :])
        lines = [[(xs[i + 1], ys[j]), (xs[i + 1], ys[j + 1])] for j, i in across]
        return lines + [[(xs[i], ys[j + 1]), (xs[i + 1], ys[j + 1])] for j, i in along]

    def _label_openings(self, axes: Axes, window: Window) -> None:
        for number, opening in enumerate(self.section.items):
            box = self._largest_view(number, window) if isinstance(opening, Opening) else None
            if box is not None:
                x, y = (box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2
                style: dict[str, Any] = {
                    "ha": "center",
                    "va": "center",
                    "fontsize": 8,
                    "style": "italic",
                    "color": INK,
                }
                axes.text(x, y, opening.name, zorder=5, **style)

    def _largest_view(self, number: int, window: Window) -> Window | None:
        """Return the largest rectangle of the grid in which an item is seen inside a window."""
        xs, ys = (
            np.clip(self.painted.xs, window.x0, window.x1),
            np.clip(self.painted.ys, window.y0, window.y1),
        )
        rows, columns = np.nonzero(self.painted.owner == number)
        views = [Window(xs[i], ys[j], xs[i + 1], ys[j + 1]) for j, i in zip(rows, columns, strict=True)]
        best = max(views, key=lambda v: (v.x1 - v.x0) * (v.y1 - v.y0), default=None)
        return best if best and best.x1 > best.x0 and best.y1 > best.y0 else None

    def _draw_drains(self, axes: Axes) -> None:
        """Draw every drain as an ellipse on paper, one without width as a dotted line."""
        for drain in self.section.drains:
            width, height = drain.x1 - drain.x0, drain.y1 - drain.y0
            if width <= 0 or height <= 0:
                axes.plot([drain.x0, drain.x1], [drain.y0, drain.y1], color=INK, lw=1.0, ls=":", zorder=4)
                continue
            middle = ((drain.x0 + drain.x1) / 2, (drain.y0 + drain.y1) / 2)
            axes.add_patch(Ellipse(middle, width, height, facecolor=PAPER, edgecolor=INK, lw=0.9, zorder=4))

    def _draw_water_table(self, axes: Axes, window: Window) -> None:
        level = self.section.water_table
        if level is None or not window.y0 < level < window.y1:
            return
        axes.plot([window.x0, window.x1], [level, level], color=INK, lw=0.8, ls=(0, (8, 4)), zorder=5)
        x = window.x0 + 0.03 * (window.x1 - window.x0)
        axes.plot(x, level, "v", ms=6, mfc=PAPER, mec=INK, mew=0.8, zorder=6, clip_on=False)
        axes.annotate(
            "water table", (x, level), (8, 4), textcoords="offset points", fontsize=7.5, color=INK, zorder=6,
            bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.8, "alpha": 0.85},
        )  # fmt: skip

    def _mark_probes(self, axes: Axes, window: Window, *, fine: bool) -> None:
        close = close_up(self.section, self.materials)
        reach = (window.x1 - window.x0) * 0.028
        taken: list[tuple[float, float]] = []
        for number, probe in enumerate(self.section.probes, start=1):
            in_close = _holds(close, probe.x, probe.y)
            if not _holds(window, probe.x, probe.y) or (in_close != fine):
                continue
            axes.plot(probe.x, probe.y, "o", ms=3.2, mfc=PAPER, mec=INK, mew=0.9, zorder=8)
            spot = _free_spot(probe.x, probe.y, reach, taken)
            taken.append(spot)
            axes.annotate(
                str(number), (probe.x, probe.y), spot, textcoords="data", fontsize=7.5, zorder=9,
                fontweight="bold", color=INK, ha="center", va="center",
                arrowprops={"arrowstyle": "-", "lw": 0.5, "color": INK, "shrinkA": 0, "shrinkB": 1.5},
                bbox={"boxstyle": "circle,pad=0.15", "facecolor": PAPER, "edgecolor": INK, "linewidth": 0.5},
            )  # fmt: skip

    def _set_axes(self, axes: Axes, window: Window) -> None:
        axes.set_xlim(window.x0, window.x1)
        axes.set_ylim(window.y0, window.y1)
        axes.set_aspect("equal", anchor="NW")
        unit = FOOT if self.inches else 1.0
        step = _round_step(max(window.x1 - window.x0, window.y1 - window.y0) / unit / 6) * unit
        for axis in (axes.xaxis, axes.yaxis):
            axis.set_major_locator(MultipleLocator(step))
            axis.set_major_formatter(FuncFormatter(lambda value, _: f"{value / unit:.4g}"))
        axes.tick_params(labelsize=7, colors=INK)
        axes.set_xlabel("ft" if self.inches else "m", fontsize=8, color=INK)
        for spine in axes.spines.values():
            spine.set_linewidth(0.5)


def _free_spot(x: float, y: float, reach: float, taken: list[tuple[float, float]]) -> tuple[float, float]:
    """Return the place round a point that is free, or else farthest from what is taken."""
    spots = [(x + reach * dx, y + reach * dy) for dx, dy in ((1, 1), (1, -1), (-1, 1), (-1, -1), (2, 0), (-2, 0))]
    distances = [min((np.hypot(a - c, b - d) for c, d in taken), default=np.inf) for a, b in spots]
    free = [spot for spot, distance in zip(spots, distances, strict=True) if distance > 1.7 * reach]
    return free[0] if free else spots[int(np.argmax(distances))]


def _holds(window: Window, x: float, y: float) -> bool:
    return window.x0 <= x <= window.x1 and window.y0 <= y <= window.y1


def chain(values: Iterable[float], low: float, high: float, least: float) -> list[float]:
    """Return sorted positions inside [low, high], those nearer than ``least`` to the one before left out."""
    kept: list[float] = []
    for value in sorted(v for v in values if low <= v <= high):
        if not kept or value - kept[-1] > least:
            kept.append(value)
    return kept


def _round_step(raw: float) -> float:
    power = 10.0 ** np.floor(np.log10(raw))
    return float(power * next(m for m in (1, 2, 5, 10) if m * power >= raw))
