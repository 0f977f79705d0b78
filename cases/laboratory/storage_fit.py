"""Storage of a building material through its sorption points, pressure plates and free saturation.

Water contents at the suctions of the tests are found together, by least squares under the condition that they rise
towards saturation; each residual counts relative to its value. Between them the curve is the monotone cubic that runs
in every case. Nothing was measured there, so each draw lies anywhere between twice the way from the straight line to
that cubic.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.optimize import lsq_linear

from stemwall.cases.laboratory.resampling import Floats, Generator, Mean, Scatter, scale
from stemwall.materials.storage import FILLING_SUCTION, RetentionCurve, TabulatedRetention
from stemwall.materials.water import DRY_SUCTION, humidity_from_suction, suction_from_humidity

#: suctions closer than this in their logarithm are one
SAME = 0.12
#: least rise of the content from one suction to the next, as a share of saturation
LEAST_RISE = 1e-4


@dataclass(frozen=True)
class Points:
    """Measured contents.

    Parameters
    ----------
    suction, water : ndarray, shape (N,)
        [Pa], [kg/m3], one row for each specimen.
    kind : tuple of str
        "adsorption", "desorption" or "retention" of each.
    """

    suction: Floats
    water: Floats
    kind: tuple[str, ...]


@dataclass(frozen=True)
class StorageFit:
    """Fitted storage.

    Parameters
    ----------
    knots, water : ndarray, shape (K,)
        Suctions from zero to bone dry [Pa] and contents there [kg/m3].
    filling : float
        Suction at which the abscissa of the interpolation turns linear [Pa].
    points : Points
        What was fitted.
    scatter : Scatter
        Of single points.
    draws : ndarray, shape (B, 2 K - 3)
        Contents at `fine` of other fits.
    """

    knots: Floats
    water: Floats
    filling: float
    points: Points
    scatter: Scatter
    draws: Floats

    @property
    def fine(self) -> Floats:
        """Suctions of `draws`: the knots and the middles between them, (2 K - 3,)."""
        return _fine(self.knots, self.filling)

    def curve(self) -> TabulatedRetention:
        """Best curve."""
        return TabulatedRetention(tuple(self.knots.tolist()), tuple(self.water.tolist()), self.filling)

    def drawn(self, number: int) -> TabulatedRetention:
        """Curve of one draw."""
        return TabulatedRetention(tuple(self.fine.tolist()), tuple(self.draws[number].tolist()), self.filling)

    def written(self, number: int | None = None) -> dict[str, object]:
        """Written form of the best curve, or of one draw."""
        suction, water = (self.knots, self.water) if number is None else (self.fine, self.draws[number])
        return {
            "kind": "table",
            "suction": [float(f"{value:.6g}") for value in suction],
            "water": [float(f"{value:.9g}") for value in water],
            "filling": float(f"{self.filling:.6g}"),
        }


def fit_storage(
    points: Points, saturation: Mean, assumed: float, rng: Generator, guide: RetentionCurve | None = None
) -> StorageFit:
    """Storage through points and a saturation.

    Parameters
    ----------
    points : Points
        At suctions above zero.
    saturation : Mean
        Content at zero suction [kg/m3], with draws.
    assumed : float
        Relative scatter where each suction has one point.
    rng : Generator
        Of the draws.
    guide : RetentionCurve, optional
        Another material, whose shape fills the gap between the wettest point and saturation.
    """
    knots = _knots(points.suction)
    filling = min(FILLING_SUCTION, float(knots[1]))
    design = _design(points.suction, knots, filling)
    at = design @ np.arange(knots.size)
    parameters = knots.size - 2
    weight = float(len(saturation.values))
    first = _solve(design, points.water, scale(points.water), saturation.value, weight)
    for _ in range(2):
        first = _solve(design, points.water, scale(design @ first), saturation.value, weight)
    fitted = design @ first
    scatter = Scatter.of((points.water - fitted) / scale(fitted), parameters, assumed)
    count = saturation.draws.size
    drawn = np.empty((count, knots.size))
    for number in range(count):
        water = fitted + scatter.draw(rng, at.size) * scale(fitted)
        drawn[number] = _solve(design, water, scale(fitted), float(saturation.draws[number]), weight)
    if guide is not None:
        knots, first, drawn = _guided(knots, first, drawn, guide)
    fine = np.array([_loosened(knots, filling, row, rng) for row in drawn])
    return StorageFit(knots, first, filling, points, scatter, fine)


def _knots(suction: Floats) -> Floats:
    """Suctions of the tests, those of nearly one value together, between zero and bone dry."""
    logarithms = np.unique(np.log(suction))
    groups: list[list[float]] = [[float(logarithms[0])]]
    for one in logarithms[1:].tolist():
        if one - groups[-1][0] < SAME:
            groups[-1].append(one)
        else:
            groups.append([one])
    return np.array([0.0, *(float(np.exp(np.mean(group))) for group in groups), DRY_SUCTION])


def _design(suction: Floats, knots: Floats, filling: float) -> Floats:
    """Weights of the contents at the knots in the content at each suction, along straight lines, (N, K)."""
    x, at = np.log1p(knots / filling), np.log1p(suction / filling)
    left = np.clip(np.searchsorted(x, at, side="right") - 1, 0, x.size - 2)
    share = (at - x[left]) / (x[left + 1] - x[left])
    weights = np.zeros((suction.size, knots.size))
    weights[np.arange(suction.size), left] = 1.0 - share
    weights[np.arange(suction.size), left + 1] = share
    # a point within a group of nearly one suction belongs to its knot
    near = np.abs(np.log(suction)[:, None] - np.log(np.maximum(knots, 1e-9))[None, :]) < SAME
    for row, column in zip(*np.nonzero(near), strict=True):
        weights[row] = 0.0
        weights[row, column] = 1.0
    return weights


def _solve(design: Floats, water: Floats, sizes: Floats, saturation: float, weight: float) -> Floats:
    """Contents at the knots: steps up from bone dry by weighted least squares, none below the least; (K,).

    Saturation counts as ``weight`` points.
    """
    count = design.shape[1]
    least = LEAST_RISE * saturation
    # content at a knot is the sum of the steps from there to bone dry; the first step is what saturation leaves
    sums = np.triu(np.ones((count, count - 1)), 0)
    steps = design @ sums
    counted = float(np.sqrt(weight))
    matrix = np.vstack([steps / sizes[:, None], np.full((1, count - 1), counted / saturation)])
    target = np.concatenate([water / sizes, [counted]])
    found = lsq_linear(matrix, target, bounds=(least, np.inf), method="bvls").x
    contents = np.asarray(sums @ found)
    contents[-1] = 0.0
    return contents


def _guided(knots: Floats, best: Floats, drawn: Floats, guide: RetentionCurve) -> tuple[Floats, Floats, Floats]:
    """Knots and contents with the shape of another curve between saturation and the wettest point."""
    wet = float(knots[1])
    others = np.geomspace(max(wet / 1e4, 300.0), wet, 7)[:-1] if wet > 1e4 else np.zeros(0)
    if not others.size:
        return knots, best, drawn
    ends = guide.content(np.array([0.0, wet]))
    share = (guide.content(others) - ends[1]) / (ends[0] - ends[1])
    share = np.clip(share, 1e-4, 1.0 - 1e-4)
    share = np.minimum.accumulate(share) * (1.0 - 1e-5 * np.arange(share.size))

    def inserted(contents: Floats) -> Floats:
        return np.concatenate([contents[:1], contents[1] + share * (contents[0] - contents[1]), contents[1:]])

    return (
        np.concatenate([[0.0], others, knots[1:]]),
        inserted(best),
        np.array([inserted(row) for row in drawn]),
    )


def _fine(knots: Floats, filling: float) -> Floats:
    x = np.log1p(knots / filling)
    middles = filling * np.expm1((x[:-1] + x[1:]) / 2.0)
    return np.sort(np.concatenate([knots, middles]))


def _loosened(knots: Floats, filling: float, water: Floats, rng: Generator) -> Floats:
    """Contents at knots and middles, each middle between the straight line and twice the way to the cubic."""
    curve = TabulatedRetention(tuple(knots.tolist()), tuple(water.tolist()), filling)
    fine = _fine(knots, filling)
    contents = np.asarray(curve.content(fine))
    straight = (water[:-1] + water[1:]) / 2.0
    way = 2.0 * rng.random(straight.size)
    rise = water[:-1] - water[1:]
    middles = straight + way * (contents[1::2] - straight)
    contents[1::2] = np.clip(middles, water[1:] + 0.02 * rise, water[:-1] - 0.02 * rise)
    assert all(b < a for a, b in pairwise(contents.tolist()))
    return contents


def points_of_humidity(humidity: Floats, temperature: float) -> Floats:
    """Suctions [Pa] of humidities [-] at a temperature [degC]."""
    return np.asarray(suction_from_humidity(humidity, temperature))


def humidity_of(suction: Floats) -> Floats:
    """Relative humidities [-] of suctions [Pa] at 20 degC."""
    return np.asarray(humidity_from_suction(suction))
