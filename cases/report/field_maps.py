"""Field maps of the built part of a section at stored dates, and the section drawing of a report."""

from __future__ import annotations

from dataclasses import dataclass

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.cm import ScalarMappable
from matplotlib.collections import LineCollection
from matplotlib.colors import LogNorm, Normalize
from matplotlib.figure import Figure
from matplotlib.patches import Patch, Rectangle
from matplotlib.ticker import FuncFormatter, MultipleLocator
from numpy.typing import NDArray

from stemwall.cases.inputs.display_units import FOOT, Quantity, Units
from stemwall.cases.report.hatching import LOOKS, STROKE
from stemwall.cases.report.section_plot import GROUND, Sketch, Window, close_up
from stemwall.cases.report.style import INK, WIDTH
from stemwall.cases.report.verdicts import date
from stemwall.cases.results.variant import Variant
from stemwall.solver.assessment.series_statistics import running_mean

Floats = NDArray[np.float64]

#: water contents below this are drawn like this [kg/m3]
DRIEST = 0.3


@dataclass(frozen=True)
class Moment:
    """A stored field time and why it is shown."""

    index: int
    word: str
    stamp: np.datetime64


def section_drawing(variant: Variant, units: Units) -> Figure | None:
    """Return overview and close-up of a section with its hatching; None if it cannot be drawn."""
    section = variant.section
    if section is None:
        return None
    figure = Figure(figsize=(WIDTH, 6.3))
    grid = figure.add_gridspec(2, 2, width_ratios=(1.0, 1.75), height_ratios=(1.0, 0.85))
    overview, close = figure.add_subplot(grid[0, 0]), figure.add_subplot(grid[:, 1])
    window = close_up(section, variant.materials)
    sketch = Sketch(section, variant.materials, inches=units.inches)
    sketch.draw(overview, Window(section.x0, section.y0, section.x1, section.y1), fine=False)
    overview.add_patch(
        Rectangle((window.x0, window.y0), window.x1 - window.x0, window.y1 - window.y0,
                  fill=False, edgecolor=INK, linewidth=0.8, linestyle="--", zorder=7)
    )  # fmt: skip
    sketch.draw(close, window, fine=True)
    sketch.dimensions(close, window)
    for axes in (overview, close):
        axes.grid(visible=False)
        axes.spines[["top", "right"]].set_visible(True)
    _hatch_legend(figure.add_subplot(grid[1, 0]), sketch)
    return figure


def _hatch_legend(axes: Axes, sketch: Sketch) -> None:
    axes.set_axis_off()
    handles = [
        Patch(facecolor=LOOKS[kind].tint, edgecolor=STROKE, hatch=LOOKS[kind].pattern, linewidth=0.4,
              label=LOOKS[kind].label)
        for kind, _ in sketch.kinds()
    ]  # fmt: skip
    handles.append(Patch(facecolor=INK, label="membrane (heavy line)"))
    axes.legend(handles=handles, loc="upper left", handlelength=3.0, handleheight=1.7, ncols=2, borderaxespad=0.0)


def moments(variant: Variant) -> list[Moment]:
    """Return the stored times of the coldest and warmest day outdoors and of most water in what is built.

    The given start state is left out.
    """
    stamps = np.asarray(variant.dataset["field_time"].values)
    usable = np.flatnonzero(stamps >= variant.time[0])
    if not usable.size:
        return []
    found = []
    outdoors = variant.climate("outdoors")
    if outdoors is not None:
        daily = running_mean(outdoors[0], min(24, variant.hours))
        at = np.clip(np.searchsorted(variant.time, stamps[usable]), 0, variant.hours - 1)
        chosen = np.where(np.isnan(daily[at]), np.nanmean(daily), daily[at])
        found += [
            (int(usable[chosen.argmin()]), "coldest day"),
            (int(usable[chosen.argmax()]), "warmest day"),
        ]
    water = _built_water(variant)[usable]
    found.append((int(usable[water.argmax()]), "most water in what is built"))
    return [Moment(index, word, stamps[index]) for index, word in found]


def _built_water(variant: Variant) -> Floats:
    """Water in all cells but soil, gravel and sand at each field time [kg/m]."""
    data = variant.dataset
    area = np.outer(np.diff(data["y_edge"].values), np.diff(data["x_edge"].values))
    built = np.array([_is_built(variant, str(key)) for key in data["material"].values])
    material = data["cell_material"].values
    inside = (material >= 0) & built[material]
    water = np.nan_to_num(np.asarray(data["water_content"].values, dtype=np.float64))
    return np.asarray((water * (area * inside)).sum(axis=(1, 2)))


def _is_built(variant: Variant, key: str) -> bool:
    material = variant.materials.get(key)
    return material is None or material.hatch not in GROUND


def field_maps(variant: Variant, chosen: list[Moment], units: Units) -> Figure:
    """Return temperature, humidity and water content of the built part, a column for every date."""
    window = _window(variant)
    tall = (window.y1 - window.y0) / (window.x1 - window.x0)
    figure = Figure(figsize=(WIDTH, 0.8 + 3.15 * tall * WIDTH / 3.5))
    panels = figure.subplots(3, len(chosen), squeeze=False, sharex=True, sharey=True)
    rows = (
        ("temperature", "temperature, " + units["temperature"].unit, "magma", units["temperature"]),
        ("relative_humidity", "relative humidity, %", "viridis_r", Quantity("%", 100.0)),
        (
            "water_content",
            "water content, " + units["water_content"].unit,
            "cividis_r",
            units["water_content"],
        ),
    )
    for row, (name, label, colours, quantity) in zip(panels, rows, strict=True):
        fields = [quantity.of(variant.dataset[name].values[moment.index]) for moment in chosen]
        norm = _norm(name, fields, _visible(variant, window), quantity)
        for axes, field, moment in zip(row, fields, chosen, strict=True):
            _draw(axes, variant, window, field, matplotlib.colormaps[colours], norm)
            if name == "temperature":
                _isotherms(axes, variant, field, units)
                axes.set_title(f"{moment.word}\n{date(moment.stamp)}")
        bar = figure.colorbar(ScalarMappable(norm, matplotlib.colormaps[colours]), ax=list(row), pad=0.01, aspect=24)
        bar.formatter = FuncFormatter(lambda value, _: f"{value:g}")
        bar.set_label(label)
        bar.outline.set_linewidth(0.4)
    _scale(panels[0, 0], units)
    for axes in panels[:, 0]:
        axes.set_ylabel("height above grade, " + ("ft" if units.inches else "m"))
    return figure


def _scale(axes: Axes, units: Units) -> None:
    """Give the shared axes ticks in the wanted unit of length."""
    unit = FOOT if units.inches else 1.0
    for axis in (axes.xaxis, axes.yaxis):
        axis.set_major_locator(MultipleLocator((2.0 if units.inches else 0.5) * unit))
        axis.set_major_formatter(FuncFormatter(lambda value, _: f"{value / unit:g}"))


def _window(variant: Variant) -> Window:
    if variant.section is not None:
        return close_up(variant.section, variant.materials)
    x, y = variant.dataset["x_edge"].values, variant.dataset["y_edge"].values
    return Window(float(x[0]), float(y[0]), float(x[-1]), float(y[-1]))


def _visible(variant: Variant, window: Window) -> NDArray[np.bool_]:
    x, y = variant.dataset["x"].values, variant.dataset["y"].values
    return np.outer((y > window.y0) & (y < window.y1), (x > window.x0) & (x < window.x1))


def _norm(name: str, fields: list[Floats], visible: NDArray[np.bool_], quantity: Quantity) -> Normalize:
    shown = np.concatenate([field[visible] for field in fields])
    low, high = float(np.nanmin(shown)), float(np.nanmax(shown))
    if name == "water_content":
        least = float(quantity.of(DRIEST))
        return LogNorm(max(low, least), max(high, 2.0 * least))
    if name == "relative_humidity":
        return Normalize(min(low, 90.0), 100.0)
    return Normalize(low, max(high, low + 1.0))


def _draw(
    axes: Axes,
    variant: Variant,
    window: Window,
    field: Floats,
    colours: matplotlib.colors.Colormap,
    norm: Normalize,
) -> None:
    data = variant.dataset
    shown = np.clip(field, norm.vmin, None) if isinstance(norm, LogNorm) else field
    axes.pcolormesh(
        data["x_edge"].values,
        data["y_edge"].values,
        np.ma.masked_invalid(shown),
        cmap=colours,
        norm=norm,
        rasterized=True,
    )
    axes.add_collection(LineCollection(_edges(variant), colors="white", linewidths=1.3, zorder=2))
    axes.add_collection(LineCollection(_edges(variant), colors=INK, linewidths=0.55, zorder=3))
    if variant.section is not None:
        sheets = [[(m.x0, m.y0), (m.x1, m.y1)] for m in variant.section.membranes]
        axes.add_collection(LineCollection(sheets, colors=INK, linewidths=1.9, zorder=4, capstyle="butt"))
    axes.set_xlim(window.x0, window.x1)
    axes.set_ylim(window.y0, window.y1)
    axes.set_aspect("equal")
    axes.grid(visible=False)


def _edges(variant: Variant) -> list[list[tuple[float, float]]]:
    """Return the lines between cells of different material, air included, each as long as it goes."""
    x, y = variant.dataset["x_edge"].values, variant.dataset["y_edge"].values
    kind = variant.dataset["cell_material"].values
    upright = [
        [(x[line + 1], y[first]), (x[line + 1], y[last])]
        for line, first, last in _runs((kind[:, 1:] != kind[:, :-1]).T)
    ]
    level = [[(x[first], y[line + 1]), (x[last], y[line + 1])] for line, first, last in _runs(kind[1:] != kind[:-1])]
    return upright + level


def _runs(marked: NDArray[np.bool_]) -> list[tuple[int, int, int]]:
    """Return (line, first, one past last) of every unbroken run of marks along the rows of a table."""
    runs = []
    for line, row in enumerate(marked):
        ends = np.flatnonzero(np.diff(np.concatenate([[False], row, [False]]).astype(np.int8)))
        runs += [(line, int(first), int(last)) for first, last in ends.reshape(-1, 2)]
    return runs


def _isotherms(axes: Axes, variant: Variant, field: Floats, units: Units) -> None:
    """Draw lines of equal temperature, and that of freezing in another colour if it is there."""
    x, y = variant.dataset["x"].values, variant.dataset["y"].values
    values = np.ma.masked_invalid(field)
    freezing = float(units["temperature"].of(0.0))
    step = (5.0 if units.inches else 2.0) * (1 if np.ptp(values.compressed()) < 25.0 else 2)
    levels = np.arange(np.floor(values.min() / step), np.ceil(values.max() / step) + 1) * step
    levels = levels[np.abs(levels - freezing) > 1e-9]
    if levels.size:
        drawn = axes.contour(x, y, values, levels=levels, colors="white", linewidths=0.5, linestyles="-", zorder=2.5)
        axes.clabel(drawn, levels[::2], fontsize=6.0, fmt="%g")
    if values.min() < freezing < values.max():
        frost = axes.contour(
            x, y, values, levels=[freezing], colors="white", linewidths=2.0, linestyles="--", zorder=3.5
        )
        axes.clabel(frost, fontsize=7.0, fmt=f"{freezing:g} {units['temperature'].unit}")
