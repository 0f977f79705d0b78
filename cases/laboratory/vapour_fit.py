"""Vapour permeability from cups: what each measured, their scatter, and the law of humidity through them.

References
----------
.. [1] EN ISO 12572:2016: permeance from the flow of mass, and the correction for air layers (from memory, to be
   checked).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.optimize import isotonic_regression

from stemwall.cases.laboratory.resampling import Floats, Generator, Scatter
from stemwall.cases.laboratory.sheet import CupTest
from stemwall.materials.vapour import Cup, CupCurve, HumidityPower, fit_cups, power_mean
from stemwall.materials.water import AIR_PERMEABILITY, saturation_pressure, still_air_permeability

#: power of humidity between cups, and how far it may lie off where fewer than three cups say it
POWER, POWER_RANGE = 4.0, (2.0, 6.0)


@dataclass(frozen=True)
class CupResult:
    """One kind of cup.

    Parameters
    ----------
    low, high : float
        Relative humidities [-].
    temperature : float
        [degC].
    sd : tuple of float or None
        Equivalent air-layer thickness of each specimen, air layers taken off [m]; None where no thickness is known.
    mu : tuple of float or None
        Resistance factor of each specimen [-]; None where no thickness is known.
    taken_off : float
        Air layers that were taken off [m].
    """

    low: float
    high: float
    temperature: float
    sd: tuple[float, ...] | None
    mu: tuple[float, ...] | None
    taken_off: float

    @property
    def middle(self) -> float:
        """Middle humidity [-]."""
        return (self.low + self.high) / 2.0


def cup_result(cup: CupTest) -> CupResult:
    """What a cup measured, in one form.

    Raises
    ------
    ValueError
        If a form needs the thickness and there is none, or the air layers resist more than the cup did.
    """
    air = float(still_air_permeability(cup.temperature))
    layers = cup.air_layer + cup.outer_film
    thickness = cup.thickness
    if thickness is None and layers > 0.0 and (cup.mu or cup.permeability):
        raise ValueError("a thickness, to take the air layers off")
    factors = cup.mu or (tuple(air / one for one in cup.permeability) if cup.permeability else None)
    if factors is not None and thickness is None:
        return CupResult(cup.low, cup.high, cup.temperature, None, factors, 0.0)
    if factors is not None:
        assert thickness is not None
        whole = [factor * thickness for factor in factors]
    else:
        whole = list(cup.sd) if cup.sd else [air / one for one in _permeances(cup)]
    sd = tuple(one - layers for one in whole)
    if min(sd) <= 0.0:
        raise ValueError(
            f"a cup that resists more than its air layers, {layers:g} m of still air; it has {min(whole):.3g} m"
        )
    mu = None if thickness is None else tuple(one / thickness for one in sd)
    return CupResult(cup.low, cup.high, cup.temperature, sd, mu, layers)


def _permeances(cup: CupTest) -> tuple[float, ...]:
    """Permeance of each specimen with its air layers [kg/(m2 s Pa)] [1]_."""
    if cup.permeance:
        return cup.permeance
    flows = cup.flow
    if cup.mass:
        assert cup.time is not None
        assert cup.area is not None
        slopes = [np.polyfit(np.array(cup.time), np.array(series), 1)[0] for series in cup.mass]
        flows = tuple(abs(float(slope)) / cup.area for slope in slopes)
        if min(flows) <= 0.0:
            raise ValueError("a mass that changes with time")
    assert flows is not None
    fall = (cup.high - cup.low) * float(saturation_pressure(cup.temperature))
    return tuple(flow / fall for flow in flows)


@dataclass(frozen=True)
class VapourFit:
    """Fitted cups, sorted by their middle humidity.

    Parameters
    ----------
    cups : tuple of CupResult
    values : tuple of ndarray
        Permeability of every specimen of each cup, at 20 degC [kg/(m s Pa)]; of membranes per metre of s_d.
    best : ndarray, shape (C,)
        Fitted permeabilities, not falling with humidity.
    power : float
        Power of humidity [-].
    scatter : Scatter
        Between specimens.
    draws : ndarray, shape (B, C)
    powers : ndarray, shape (B,)
    """

    cups: tuple[CupResult, ...]
    values: tuple[Floats, ...]
    best: Floats
    power: float
    scatter: Scatter
    draws: Floats
    powers: Floats

    @property
    def falls(self) -> bool:
        """Whether the cups as stated would let less through where it is moister."""
        means = [float(one.mean()) for one in self.values]
        return any(b < a for a, b in pairwise(means))

    def law(self, number: int | None = None) -> HumidityPower | CupCurve:
        """Permeability over humidity of the best fit, or of one draw."""
        deltas, power = (self.best, self.power) if number is None else (self.draws[number], float(self.powers[number]))
        cups = [
            Cup(cup.low, cup.high, float(delta), cup.temperature) for cup, delta in zip(self.cups, deltas, strict=True)
        ]
        return fit_cups(cups, power)

    def written(self, number: int | None = None) -> dict[str, object]:
        """Written form of the best fit, or of one draw."""
        deltas, power = (self.best, self.power) if number is None else (self.draws[number], float(self.powers[number]))
        cups = [
            {
                "from": cup.low, "to": cup.high, "mu": float(f"{AIR_PERMEABILITY / delta:.5g}"),
                "temperature": round(cup.temperature, 2),
            }
            for cup, delta in zip(self.cups, deltas, strict=True)
        ]  # fmt: skip
        return {"kind": "cups", "cups": cups, "power": float(f"{power:.3g}")}


def fit_vapour(
    results: Sequence[CupResult], assumed: float, rng: Generator, count: int, *, porous: bool = True
) -> VapourFit:
    """Permeabilities of cups, by least squares under the condition that none falls with humidity.

    Parameters
    ----------
    results : sequence of CupResult
        With resistance factors.
    assumed : float
        Relative scatter where each cup had one specimen.
    rng : Generator
    count : int
        Draws.
    porous : bool
        Whether they are those of a material, which lets no more through than still air and rises with humidity as
        its law can; a membrane has a dry and a wet value alone.
    """
    cups = tuple(sorted(results, key=lambda one: one.middle))
    values = tuple(AIR_PERMEABILITY / np.array(one.mu or one.sd) for one in cups)
    means, sizes = np.array([one.mean() for one in values]), np.array([one.size for one in values])
    residuals = np.concatenate([one / one.mean() - 1.0 for one in values])
    scatter = Scatter.of(residuals, len(values), assumed)
    drawn = np.empty((count, means.size))
    splits = np.cumsum(sizes)[:-1]
    for number in range(count):
        errors = np.array([part.mean() for part in np.split(scatter.draw(rng, int(sizes.sum())), splits)])
        drawn[number] = means * np.exp(errors)
    power = POWER
    powers = rng.uniform(*POWER_RANGE, count)
    limited = cups if porous else ()
    best = _rising(limited, means, sizes, power)
    draws = np.array([_rising(limited, row, sizes, float(p)) for row, p in zip(drawn, powers, strict=True)])
    return VapourFit(cups, values, best, power, scatter, draws, powers)


def _rising(cups: Sequence[CupResult], deltas: Floats, sizes: Floats, power: float) -> Floats:
    """The nearest permeabilities that do not fall with humidity; of cups in a material within what its law can do."""
    rising = np.exp(isotonic_regression(np.log(deltas), weights=sizes).x)
    if cups:
        rising = np.minimum(rising, AIR_PERMEABILITY)
    if len(cups) == 2:
        ratio = power_mean(power, cups[1].low, cups[1].high) / max(power_mean(power, cups[0].low, cups[0].high), 1e-12)
        rising[1] = min(rising[1], 0.95 * ratio * rising[0])
    return np.asarray(rising)
