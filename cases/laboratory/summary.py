"""What a sheet came to, as rows: for the screen and for the page alike."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

import numpy as np

from stemwall.cases.laboratory.evaluation import Evaluation
from stemwall.cases.laboratory.resampling import Floats, Mean, Scatter
from stemwall.cases.laboratory.simulated import Returned
from stemwall.materials.water import AIR_PERMEABILITY

LABELS = {
    "density": ("dry density", "kg/m³"), "specific_heat": ("specific heat", "J/(kg K)"), "porosity": ("porosity", "-"),
    "saturation": ("free saturation", "kg/m³"), "hydraulic": ("hydraulic conductivity", "m/s"),
}  # fmt: skip


class Row(NamedTuple):
    """One number: name, value, unit, 90 % band, scatter of single specimens, and how many there were."""

    name: str
    value: str
    unit: str
    band: str
    scatter: str
    specimens: str


def numbers(evaluation: Evaluation) -> Iterator[Row]:
    """Yield the numbers that were tested, with their spread."""
    for name, mean in evaluation.means.items():
        yield _of_mean(*LABELS[name], mean)
    if evaluation.soil is not None:
        soil = evaluation.soil
        units = ("m³/m³", "m³/m³", "1/m", "-")
        for k, (name, unit) in enumerate(zip(("θ_r", "θ_s", "α", "n"), units, strict=True)):
            yield _row(name, float(soil.best[k]), unit, soil.draws[:, k], soil.scatter, soil.water.size)
    if evaluation.storage is not None:
        storage = evaluation.storage
        count = f"{storage.points.water.size} at {storage.knots.size - 2} suctions"
        yield Row("storage", f"{storage.knots.size} points", "kg/m³", "see figure", _scatter(storage.scatter), count)
    if evaluation.vapour is not None:
        fit = evaluation.vapour
        membrane = evaluation.sheet.about.kind == "membrane"
        for k, cup in enumerate(fit.cups):
            name = f"{'s_d' if membrane else 'µ'} of cup {cup.low:.0%} to {cup.high:.0%} RH"
            drawn = AIR_PERMEABILITY / fit.draws[:, k]
            best = AIR_PERMEABILITY / float(fit.best[k])
            yield _row(name, best, "m" if membrane else "-", drawn, fit.scatter, fit.values[k].size)
    if evaluation.liquid is not None:
        liquid = evaluation.liquid
        name = "water absorption coefficient"
        if liquid.ratio != 1.0:
            name += ", from 50 % RH at 23 °C"
        stated = liquid.stated
        yield _row(name, liquid.best, "kg/(m² s^0.5)", liquid.draws, stated.scatter, len(stated.values))
    if evaluation.heat is not None:
        heat = evaluation.heat
        for k, (name, unit) in enumerate(heat.labels):
            if heat.fitted[k]:
                yield _row(name, float(heat.best[k]), unit, heat.draws[:, k], heat.scatter, heat.points.value.size)


def _of_mean(name: str, unit: str, mean: Mean) -> Row:
    return _row(name, mean.value, unit, mean.draws, mean.scatter, len(mean.values))


def _row(name: str, value: float, unit: str, draws: Floats, scatter: Scatter, count: int) -> Row:
    low, high = np.quantile(draws, [0.05, 0.95])
    return Row(name, f"{value:.4g}", unit, f"{low:.4g} to {high:.4g}", _scatter(scatter), str(count))


def _scatter(scatter: Scatter) -> str:
    return f"{scatter.deviation:.1%}" + ("" if scatter.freedom else " assumed")


def returned_rows(found: Iterable[Returned]) -> list[tuple[str, str, str, str, str, str]]:
    """Rows of simulated tests: test, unit, stated, least and greatest specimen, simulated, difference."""
    return [
        (
            one.test, one.unit, f"{one.stated:.4g}", f"{one.low:.4g} to {one.high:.4g}", f"{one.simulated:.4g}",
            f"{one.difference:+.1%}",
        )
        for one in found
    ]  # fmt: skip


class Residual(NamedTuple):
    """One point: test, condition, specimens, fitted value, their mean's difference from it."""

    test: str
    condition: str
    measured: str
    fitted: str
    difference: str


def residuals(evaluation: Evaluation) -> Iterator[Residual]:
    """Yield every point beside the curve."""
    if evaluation.storage is not None:
        storage = evaluation.storage
        points = storage.points
        yield from _moisture(
            points.suction, points.water, np.array(points.kind), storage.curve().content(points.suction)
        )
    if evaluation.soil is not None:
        soil = evaluation.soil
        kinds = np.array(["retention"] * soil.suction.size)
        yield from _moisture(soil.suction, soil.water, kinds, soil.content(soil.suction))
    if evaluation.vapour is not None:
        fit = evaluation.vapour
        what = "s_d, m" if evaluation.sheet.about.kind == "membrane" else "µ"
        for cup, values, delta in zip(fit.cups, fit.values, fit.best, strict=True):
            yield _residual("cup", f"{cup.low:.0%} to {cup.high:.0%} RH, {what}", AIR_PERMEABILITY / values,
                            AIR_PERMEABILITY / float(delta))  # fmt: skip
    if evaluation.liquid is not None:
        stated = evaluation.liquid.stated
        yield _residual("uptake", "kg/(m² s^0.5)", np.array(stated.values), stated.value)
    if evaluation.heat is not None:
        points_, best = evaluation.heat.points, evaluation.heat
        at = np.stack([points_.water, points_.temperature], axis=1)
        for row in np.unique(at, axis=0):
            chosen = np.all(at == row, axis=1)
            fitted = float(best.curve(row[:1], None, float(row[1]))[0])
            condition = f"{row[0]:.4g} kg/m³ at {row[1]:.3g} °C, W/(m K)"
            yield _residual("conductivity", condition, points_.value[chosen], fitted)


def _moisture(suction: Floats, water: Floats, kinds: Floats, fitted: Floats) -> Iterator[Residual]:
    from stemwall.cases.laboratory.storage_fit import humidity_of

    for kind in dict.fromkeys(kinds.tolist()):
        for at in np.unique(suction[kinds == kind])[::-1]:
            chosen = (kinds == kind) & (suction == at)
            humidity = float(humidity_of(np.array([at]))[0])
            condition = f"{humidity:.1%} RH" if kind != "retention" else f"{at / 1e3:.4g} kPa"
            yield _residual(str(kind), f"{condition}, kg/m³", water[chosen], float(fitted[chosen][0]))


def _residual(test: str, condition: str, values: Floats, fitted: float) -> Residual:
    measured = ", ".join(f"{value:.4g}" for value in values)
    difference = float(values.mean()) / fitted - 1.0 if fitted else 0.0
    return Residual(test, condition, measured, f"{fitted:.4g}", f"{difference:+.1%}")
