"""Figures of a sheet: points, fitted curves and their bands."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from stemwall.cases.laboratory.evaluation import Evaluation
from stemwall.cases.laboratory.resampling import Band, Floats, band
from stemwall.cases.laboratory.simulated import Dried
from stemwall.cases.laboratory.storage_fit import humidity_of
from stemwall.cases.report.style import FAINT, INK, LIMIT, WIDTH
from stemwall.materials.water import AIR_PERMEABILITY, suction_from_humidity

#: draws that a band is made of, at most
MOST = 400
BANDED = "#d9c9b6"
MARKS = {"adsorption": ("o", "adsorption"), "desorption": ("v", "desorption"), "retention": ("s", "suction applied")}


STORAGE = (
    "Points are specimens, the line is the curve that runs in a case, the band holds 90 % of the curves that resampled "
    "scatter gives, each as a whole. Dashed, nothing was measured."
)
CUPS = "Horizontal bars are cups, each the mean over its humidities, thin for each specimen and thick for the fit."
LAW = " The line is the permeability whose means they are, vapour and liquid together."
UPTAKE = "Uptake over the square root of time, and the lines fitted to it."
HEAT = "At a mean temperature of 10 °C, where more than one was tested."
DRYING = "Water left per drying area; nothing was fitted to it."


def figures(evaluation: Evaluation, dried: tuple[Dried, ...]) -> Iterator[tuple[str, Figure, str]]:
    """Yield (name, figure, caption) of everything that was tested."""
    if evaluation.storage is not None or evaluation.soil is not None:
        yield "Moisture storage", _storage(evaluation), STORAGE
    if evaluation.vapour is not None:
        law = "" if evaluation.sheet.about.kind == "membrane" else LAW
        yield "Vapour", _vapour(evaluation), CUPS + law
    if evaluation.liquid is not None and evaluation.liquid.series:
        yield "Uptake of water", _uptake(evaluation), UPTAKE
    if evaluation.heat is not None:
        yield "Thermal conductivity", _heat(evaluation), HEAT
    for one in dried:
        yield one.name[:1].upper() + one.name[1:], _drying(one), DRYING


def storage_band(evaluation: Evaluation, suction: Floats) -> Band:
    """Storage at suctions [Pa] with its band [kg/m3]."""
    storage, soil = evaluation.storage, evaluation.soil
    if storage is not None:
        count = min(MOST, len(storage.draws))
        drawn = np.array([storage.drawn(k).content(suction) for k in range(count)])
        return band(np.asarray(storage.curve().content(suction)), drawn, logarithm=True)
    assert soil is not None
    count = min(MOST, len(soil.draws))
    return band(soil.content(suction), np.array([soil.content(suction, k) for k in range(count)]), logarithm=True)


def vapour_band(evaluation: Evaluation, humidity: Floats) -> Band:
    """Permeability at humidities [-] with its band [kg/(m s Pa)]."""
    fit = evaluation.vapour
    assert fit is not None
    suction = suction_from_humidity(humidity)
    store = evaluation.material.storage
    drawn = []
    for number in range(min(MOST, len(fit.draws))):
        try:
            drawn.append(fit.law(number).permeability(suction, store))
        except ValueError:
            continue  # of three cups and more, no curve may meet an extreme draw
    best = np.asarray(fit.law().permeability(suction, store))
    return band(best, np.array(drawn), logarithm=True)


def heat_band(evaluation: Evaluation, water: Floats) -> Band:
    """Conductivity at contents [kg/m3] and 10 degC with its band [W/(m K)]."""
    heat = evaluation.heat
    assert heat is not None
    drawn = np.array([heat.curve(water, k) for k in range(min(MOST, len(heat.draws)))])
    return band(heat.curve(water), drawn, logarithm=True)


def _drawn(axes: Axes, x: Floats, found: Band) -> None:
    axes.fill_between(x, found.low, found.high, color=BANDED, alpha=0.7, linewidth=0, label="90 % band")
    axes.plot(x, found.best, color=INK, linewidth=1.5, label="fitted")


def _beyond(axes: Axes, x: Floats, curve: Floats) -> None:
    """The curve where nothing was measured."""
    axes.plot(x, curve, color=INK, linewidth=0.9, linestyle=(0, (3, 2)), zorder=1.5)


def _storage(evaluation: Evaluation) -> Figure:
    """Storage over suction, and over humidity where sorption was tested."""
    figure = Figure(figsize=(WIDTH, 3.7))
    if evaluation.storage is not None:
        points = evaluation.storage.points
        suction, water, kinds = points.suction, points.water, np.array(points.kind)
    else:
        assert evaluation.soil is not None
        suction, water = evaluation.soil.suction, evaluation.soil.water
        kinds = np.array(["retention"] * suction.size)
    wet = suction > 1.0
    sorbed = bool(np.any(kinds != "retention"))
    panels = figure.subplots(1, 2) if sorbed else [figure.subplots()]
    if sorbed:
        _over_humidity(panels[0], evaluation, suction, water)
    lowest = max(min(float(suction[wet].min()) / 10.0, 1e4), 50.0)
    along = np.geomspace(lowest, float(suction.max()), 200)
    axes = panels[-1]
    _drawn(axes, along, storage_band(evaluation, along))
    further = np.geomspace(float(suction.max()), 9e8, 60)
    _beyond(axes, further, storage_band(evaluation, further).best)
    for kind, (mark, label) in MARKS.items():
        chosen = (kinds == kind) & wet
        if chosen.any():
            for panel in panels:
                x = humidity_of(suction[chosen]) if panel is not axes else suction[chosen]
                shown = label if panel is axes else None
                panel.scatter(
                    x, water[chosen], s=22, marker=mark, facecolors="white", edgecolors=LIMIT, zorder=4, label=shown
                )
    for value in evaluation.means["saturation"].values if "saturation" in evaluation.means else ():
        axes.axhline(value, color=LIMIT, linewidth=0.7, linestyle=(0, (2, 2)))
    axes.set(xscale="log", xlabel="suction [Pa]", ylabel="water content [kg/m³]", title="Over suction")
    axes.set_ylim(bottom=0.0)
    axes.legend(loc="upper right")
    return figure


def _over_humidity(axes: Axes, evaluation: Evaluation, suction: Floats, water: Floats) -> None:
    humidity = np.concatenate([np.linspace(0.005, 0.95, 90), np.linspace(0.951, 0.9995, 60)])
    inside = humidity[humidity >= float(humidity_of(suction.max()))]
    if inside.size > 1:
        _drawn(axes, inside, storage_band(evaluation, suction_from_humidity(inside)))
    _beyond(axes, humidity, storage_band(evaluation, suction_from_humidity(humidity)).best)
    axes.set(xlabel="relative humidity", ylabel="water content [kg/m³]", title="Over humidity", xlim=(0, 1))
    hygroscopic = water[suction > 5e6]
    axes.set_ylim(0.0, 1.35 * float(hygroscopic.max()) if hygroscopic.size else None)


def _vapour(evaluation: Evaluation) -> Figure:
    fit = evaluation.vapour
    assert fit is not None
    figure = Figure(figsize=(WIDTH, 3.3))
    axes = figure.subplots()
    membrane = evaluation.sheet.about.kind == "membrane"
    if not membrane:
        humidity = np.linspace(0.0, 1.0, 101)
        found = vapour_band(evaluation, humidity)
        ends = Band(AIR_PERMEABILITY / found.best, AIR_PERMEABILITY / found.high, AIR_PERMEABILITY / found.low)
        _drawn(axes, humidity, ends)
        axes.legend(loc="upper right")
    for cup, values, best in zip(fit.cups, fit.values, fit.best, strict=True):
        axes.hlines(AIR_PERMEABILITY / values, cup.low, cup.high, color=LIMIT, linewidth=1.0, zorder=3)
        axes.hlines(AIR_PERMEABILITY / best, cup.low, cup.high, color=INK, linewidth=2.2, zorder=3)
    label = "s_d [m]" if membrane else "vapour resistance factor µ"
    axes.set(xlabel="relative humidity", ylabel=label, xlim=(0, 1))
    axes.set_ylim(bottom=0.0)
    return figure


def _uptake(evaluation: Evaluation) -> Figure:
    assert evaluation.liquid is not None
    figure = Figure(figsize=(WIDTH, 3.3))
    axes = figure.subplots()
    for number, one in enumerate(evaluation.liquid.series, 1):
        axes.scatter(one.root / 60.0, one.gain, s=20, facecolors="white", edgecolors=LIMIT, zorder=4)
        along = np.linspace(0.0, float(one.root.max()), 120)
        axes.plot(along / 60.0, one.line(along), color=INK, linewidth=1.2, label=f"specimen {number}")
        if one.knee is not None:
            axes.axvline(one.knee / 60.0, color=FAINT, linewidth=1.0)
    axes.set(xlabel="square root of time [h^0.5]", ylabel="uptake [kg/m²]")
    axes.set_xlim(left=0.0)
    axes.set_ylim(bottom=0.0)
    return figure


def _heat(evaluation: Evaluation) -> Figure:
    heat = evaluation.heat
    assert heat is not None
    figure = Figure(figsize=(WIDTH, 3.3))
    axes = figure.subplots()
    points = heat.points
    water = np.linspace(0.0, max(float(points.water.max()) * 1.1, 20.0), 60)
    _drawn(axes, water, heat_band(evaluation, water))
    axes.scatter(points.water, heat.brought(), s=22, facecolors="white", edgecolors=LIMIT, zorder=4, label="specimens")
    axes.set(xlabel="water content [kg/m³]", ylabel="thermal conductivity [W/(m K)]")
    axes.set_ylim(bottom=0.0)
    axes.legend(loc="lower right")
    return figure


def _drying(one: Dried) -> Figure:
    figure = Figure(figsize=(WIDTH, 3.3))
    axes = figure.subplots()
    days = one.time / 86400.0
    for number, series in enumerate(one.measured):
        label = "specimens" if number == 0 else None
        axes.scatter(days, series, s=20, facecolors="white", edgecolors=LIMIT, zorder=4, label=label)
    axes.plot(one.along / 86400.0, one.simulated, color=INK, linewidth=1.4, label="simulated")
    axes.set(xlabel="time [d]", ylabel="water left [kg/m²]")
    axes.set_ylim(bottom=0.0)
    axes.legend(loc="upper right")
    return figure
