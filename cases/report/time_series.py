"""Figures over time: places, climates, dew points and the mould index, all variants in one frame."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from stemwall.cases.inputs.display_units import Units
from stemwall.cases.report.style import INK, WIDTH, Line, date_axis, limit_line, lines, means
from stemwall.cases.results.variant import Variant
from stemwall.solver.assessment.criteria import CRITERIA
from stemwall.solver.assessment.mould import mould_index
from stemwall.solver.assessment.mould_isolines import daily_means, isoline
from stemwall.solver.assessment.probe_series import ProbeSeries
from stemwall.solver.model.arrays import Floats
from stemwall.weather.moistair import dew_point, vapour_pressure

#: markers of the twelve months, so that they can be told apart without colour
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
MARKERS = "osD^v<>phXP*"


def place(variants: Sequence[Variant], name: str, units: Units) -> Figure:
    """Return temperature, humidity and moisture (wood) or water content of one place in a row."""
    drawn = lines([variant.name for variant in variants])
    with matplotlib.rc_context({"figure.constrained_layout.use": False}):
        figure = Figure(figsize=(WIDTH, 1.75))
    row = figure.subplots(1, 3, sharex=True)
    figure.subplots_adjust(left=0.05, right=0.997, bottom=0.14, top=0.97, wspace=0.2)
    for variant in variants:
        series = variant.places.get(name)
        if series is not None:
            _place(row, series, drawn[variant.name], units)
    wood = any(v.places[name].kind == "wood" for v in variants if name in v.places)
    _finish_place(row, units, wood=wood)
    date_axis(row[0])
    return figure


def legend(variants: Sequence[Variant]) -> Figure:
    """Return the lines of the variants, for all figures of places."""
    figure = Figure(figsize=(WIDTH, 0.32))
    _legend(figure, lines([variant.name for variant in variants]))
    return figure


def _place(row: Sequence[Axes], series: ProbeSeries, line: Line, units: Units) -> None:
    wood = series.moisture if series.kind == "wood" else None
    whole = series.of_piece()
    piece = None if wood is None or whole is None else whole.moisture
    water = units["water_content"].of(series.water_content) if wood is None else wood
    shown = (units["temperature"].of(series.temperature), 100.0 * series.relative_humidity, water)
    for axes, values in zip(row, shown, strict=True):
        time, mean = means(series.time, values)
        beside = values is wood and piece is not None
        width, shade = (0.4 * line.width, 0.45) if beside else (0.8 * line.width, 1.0)
        axes.plot(time, mean, color=line.colour, linestyle=line.dash, linewidth=width, alpha=shade)
    if piece is not None:
        time, mean = means(series.time, piece)
        row[2].plot(time, mean, color=line.colour, linestyle=line.dash, linewidth=0.8 * line.width)


def _finish_place(row: Sequence[Axes], units: Units, *, wood: bool) -> None:
    row[0].set_ylabel(units["temperature"].unit)
    row[1].set_ylabel("relative humidity, %")
    limit = CRITERIA["surface-humidity-30-day"].limit * 100.0
    low = min([95.0, *(float(np.min(line.get_ydata())) for line in row[1].lines)])
    row[1].set_ylim(max(0.0, min(low - 3.0, limit - 8.0)), 101.5)
    limit_line(row[1], limit, f"{limit:g} %")
    if not wood:
        row[2].set_ylabel(f"water content, {units['water_content'].unit}")
        return
    row[2].set_ylabel("moisture, % dry mass")
    line = CRITERIA["wood-moisture-piece"].limit
    high = max(float(np.max(item.get_ydata())) for item in row[2].lines)
    low = min(float(np.min(item.get_ydata())) for item in row[2].lines)
    row[2].set_ylim(max(0.0, low - 2.0), max(line + 3.0, high + 2.0))
    limit_line(row[2], line, f"{line:g} %")


def climates(variant: Variant, units: Units) -> Figure:
    """Return temperatures and dew points of all climates, one panel each."""
    keys = [str(key) for key in variant.dataset["climate"].values]
    figure = Figure(figsize=(WIDTH, 2.9))
    panels = figure.subplots(1, 2, sharex=True, sharey=True)
    drawn = lines(keys)
    for key in keys:
        found = variant.climate(key)
        assert found is not None
        temperature, humidity = found
        dew = dew_point(vapour_pressure(temperature, humidity))
        for axes, values in zip(panels, (temperature, dew), strict=True):
            time, mean = means(variant.time, values)
            axes.plot(
                time, units["temperature"].of(mean), color=drawn[key].colour,
                linestyle=drawn[key].dash, linewidth=drawn[key].width,
            )  # fmt: skip
    for axes, title in zip(panels, ("air temperature", "dew point"), strict=True):
        axes.set_title(title)
        date_axis(axes)
    panels[0].set_ylabel(units["temperature"].unit)
    _legend(figure, drawn)
    return figure


def mould(variants: Sequence[Variant], names: Sequence[str]) -> Figure:
    """Return the mould index of places that have a sensitivity class, for that class."""
    drawn = lines([variant.name for variant in variants])
    columns = min(3, len(names))
    rows = -(-len(names) // columns)
    figure = Figure(figsize=(WIDTH, 0.5 + 1.8 * rows))
    panels = figure.subplots(rows, columns, sharex=True, sharey=True, squeeze=False).ravel()
    limit = CRITERIA["mould-index"].limit
    for axes, name in zip(panels, names, strict=False):
        for variant in variants:
            _index(axes, variant.places.get(name), drawn[variant.name])
        axes.set_title(name)
        axes.set_ylim(0.0, 6.0)
        limit_line(axes, limit, f"{limit:g}, visible growth")
    for axes in panels[len(names) :]:
        axes.set_axis_off()
    date_axis(panels[0])
    figure.supylabel("mould index", fontsize=8.5, color=INK)
    _legend(figure, drawn)
    return figure


def _index(axes: Axes, series: ProbeSeries | None, line: Line) -> None:
    if series is None or series.mould_class is None:
        return
    index = mould_index(series.temperature, series.relative_humidity, series.mould_class, step=series.step)
    time, mean = means(series.time, index)
    axes.plot(time, mean, color=line.colour, linestyle=line.dash, linewidth=line.width)


def humidity_against_temperature(variants: Sequence[Variant], names: Sequence[str], units: Units) -> Figure:
    """Return daily humidity over temperature by month, with the lowest germination line."""
    figure = Figure(figsize=(WIDTH, 0.6 + 2.9 * len(names)))
    panels = figure.subplots(len(names), len(variants), sharex=True, sharey=True, squeeze=False)
    line = np.linspace(0.0, 30.0, 121)
    for row, name in zip(panels, names, strict=True):
        for axes, variant in zip(row, variants, strict=True):
            axes.plot(units["temperature"].of(line), 100.0 * isoline(line), color=INK, linewidth=1.3)
            axes.set_title(f"{name}\n{variant.name}")
            if name in variant.places:
                _months(axes, variant.places[name], units)
        row[0].set_ylabel("relative humidity, %")
    for axes in panels[-1]:
        axes.set_xlabel(f"temperature, {units['temperature'].unit}")
    _month_legend(figure)
    return figure


def _months(axes: Axes, series: ProbeSeries, units: Units) -> None:
    temperature, humidity = _daily(series.temperature), _daily(series.relative_humidity)
    stamps = series.time[12 : 12 + 24 * len(temperature) : 24][: len(temperature)]
    month = stamps.astype("datetime64[M]").astype(int) % 12
    for number, (marker, shade) in enumerate(zip(MARKERS, _month_shades(), strict=True)):
        at = month == number
        axes.plot(
            units["temperature"].of(temperature[at]), 100.0 * humidity[at],
            marker, markersize=3.4, color=shade, markeredgecolor="white", markeredgewidth=0.3, alpha=0.9,
        )  # fmt: skip


def _daily(values: Floats) -> Floats:
    return daily_means(values) if len(values) >= 24 else values[:0]


def _month_shades() -> list[str]:
    """Colours that are dark in winter and light in summer, in a closed round."""
    height = 0.5 - 0.5 * np.cos(2.0 * np.pi * (np.arange(12) + 0.5) / 12.0)
    return [matplotlib.colors.to_hex(c) for c in matplotlib.colormaps["cividis"](height)]


def _month_legend(figure: Figure) -> None:
    handles = [
        Line2D([], [], marker=marker, linestyle="", color=shade, label=month, markersize=5)
        for month, marker, shade in zip(MONTHS, MARKERS, _month_shades(), strict=True)
    ]
    handles.append(Line2D([], [], color=INK, label="lowest germination line"))
    figure.legend(handles=handles, loc="outside lower center", ncols=7)


def _legend(figure: Figure, drawn: Mapping[str, Line]) -> None:
    handles = [
        Line2D([], [], color=line.colour, linestyle=line.dash, linewidth=line.width, label=name)
        for name, line in drawn.items()
    ]
    figure.legend(handles=handles, loc="outside upper left", ncols=min(6, len(handles)), handlelength=3.2)
