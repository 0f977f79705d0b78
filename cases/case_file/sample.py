"""Values drawn at random from stated distributions, by Latin hypercube sampling.

References
----------
McKay, M. D., Beckman, R. J., Conover, W. J. (1979), A comparison of three methods for selecting values of input
variables in the analysis of output from a computer code, Technometrics 21, 239-245 (from memory, to be checked).
"""

from __future__ import annotations

import re
from abc import ABC, abstractmethod
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import BeforeValidator, Field, model_validator

from stemwall.cases.inputs.field_types import Spelling, Strict, described, required
from stemwall.cases.inputs.quantities import Weight

Floats = NDArray[np.float64]

#: digits of a drawn value that are kept; what is recorded is what is run
DIGITS = 6
_SCALED = re.compile(r"\s*(R\s*-?\s*)?([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(\S*)\s*$")
EXPECTED = 'a number, or one number with one unit, such as 0.2, "8 in", "70 degF" or "R-10"'


class Scaled(tuple[float, str, str]):
    """A number, and what stands before and after it where it is written with a unit."""

    __slots__ = ()

    @property
    def number(self) -> float:
        """The number itself."""
        return self[0]

    @property
    def unit(self) -> tuple[str, str]:
        """What stands before and after it."""
        return self[1:]


def _scaled(value: object) -> Scaled:
    if isinstance(value, str):
        match = _SCALED.match(value)
        if match and (match[1] or match[3]):
            return Scaled((float(match[2]), (match[1] or "").strip(), match[3]))
    elif isinstance(value, int | float) and not isinstance(value, bool) and np.isfinite(value):
        return Scaled((float(value), "", ""))
    raise ValueError(EXPECTED)


Value = Annotated[Any, BeforeValidator(_scaled), Spelling(EXPECTED)]


class _Numbers(Strict, ABC):
    """A distribution of numbers, all parameters of which have the same unit."""

    @model_validator(mode="after")
    def _one_unit(self) -> _Numbers:
        units = {value.unit for value in vars(self).values() if isinstance(value, Scaled)}
        if len(units) > 1:
            written = ", ".join(sorted(" ".join(filter(None, unit)) or "none" for unit in units))
            raise ValueError(f"one and the same unit for all numbers of the distribution, not {written}")
        self._ordered()
        return self

    def _ordered(self) -> None:
        """Raise ValueError if the numbers do not make a distribution."""

    @abstractmethod
    def quantiles(self, shares: Floats) -> Floats:
        """Return the values below which these shares of all lie."""

    def values(self, shares: Floats) -> list[Any]:
        """Return the values as they would stand in a case file."""
        before, after = next(value.unit for value in vars(self).values() if isinstance(value, Scaled))
        rounded = [float(f"{number:.{DIGITS}g}") for number in self.quantiles(shares)]
        if not (before or after):
            return list(rounded)
        texts = (np.format_float_positional(number, trim="-") for number in rounded)
        return [f"R-{text}" if before else f"{text} {after}" for text in texts]


class Uniform(_Numbers):
    """Every value between two is as likely."""

    kind: Literal["uniform"] = required("the distribution")
    low: Value = required("smallest value")
    high: Value = required("largest value")

    def _ordered(self) -> None:
        if not self.low.number < self.high.number:
            raise ValueError("low below high")

    def quantiles(self, shares: Floats) -> Floats:
        """Return the values below which these shares of all lie."""
        return np.asarray(self.low.number + shares * (self.high.number - self.low.number))


class Normal(_Numbers):
    """Normal distribution, cut off where low or high are given."""

    kind: Literal["normal"] = required("the distribution")
    mean: Value = required("mean value")
    deviation: Value = required("standard deviation")
    low: Value | None = described(None, "no value below this; by default none is cut off")
    high: Value | None = described(None, "no value above this; by default none is cut off")

    def _ordered(self) -> None:
        if not self.deviation.number > 0:
            raise ValueError("a deviation above zero")
        if self.low is not None and self.high is not None and not self.low.number < self.high.number:
            raise ValueError("low below high")

    def quantiles(self, shares: Floats) -> Floats:
        """Return the values below which these shares of all lie."""
        from scipy.special import ndtr, ndtri

        mean, deviation = self.mean.number, self.deviation.number
        low = 0.0 if self.low is None else ndtr((self.low.number - mean) / deviation)
        high = 1.0 if self.high is None else ndtr((self.high.number - mean) / deviation)
        return np.asarray(mean + deviation * ndtri(low + shares * (high - low)))


class Triangular(_Numbers):
    """Likeliest at one value, falling to nothing at two others."""

    kind: Literal["triangular"] = required("the distribution")
    low: Value = required("smallest value")
    mode: Value = required("likeliest value")
    high: Value = required("largest value")

    def _ordered(self) -> None:
        if not self.low.number <= self.mode.number <= self.high.number or self.low.number == self.high.number:
            raise ValueError("low, mode and high in this order, low below high")

    def quantiles(self, shares: Floats) -> Floats:
        """Return the values below which these shares of all lie."""
        low, mode, width = self.low.number, self.mode.number, self.high.number - self.low.number
        rising = shares * width <= mode - low
        left = low + np.sqrt(shares * width * (mode - low))
        right = low + width - np.sqrt((1.0 - shares) * width * (low + width - mode))
        return np.asarray(np.where(rising, left, right))


class Choice(Strict):
    """One of some values, with equal or stated weights."""

    kind: Literal["choice"] = required("the distribution")
    values_: Annotated[list[Any], Field(min_length=1, alias="values")] = required("values, one of which is taken")
    weights: list[Weight] | None = described(None, "weight of each value; by default all are as likely")

    @model_validator(mode="after")
    def _as_many(self) -> Choice:
        if self.weights is not None and len(self.weights) != len(self.values_):
            raise ValueError(f"as many weights as values, {len(self.values_)}")
        return self

    def values(self, shares: Floats) -> list[Any]:
        """Return the values as they would stand in a case file."""
        weights = np.ones(len(self.values_)) if self.weights is None else np.array(self.weights)
        limits = np.cumsum(weights) / weights.sum()
        return [self.values_[k] for k in np.minimum(np.searchsorted(limits, shares, "right"), len(limits) - 1)]


class StatedBand(Strict):
    """The band of a number of a material, as `stemwall materials show` lists it; the path names the number."""

    kind: Literal["band"] = required("the distribution")
    shape: Literal["uniform", "triangular"] = described(
        "uniform", "likelihood within the band: the same everywhere, or falling from the value to both ends"
    )

    def within(self, low: float, value: float, high: float) -> Uniform | Triangular:
        """Return the distribution between two ends."""
        if self.shape == "uniform":
            return Uniform.model_validate({"kind": "uniform", "low": low, "high": high})
        return Triangular.model_validate({"kind": "triangular", "low": low, "mode": value, "high": high})


KINDS = ("uniform", "normal", "triangular", "choice", "band")
Distribution = Annotated[Uniform | Normal | Triangular | Choice | StatedBand, Field(discriminator="kind")]


def drawn(distributions: Mapping[str, Any], count: int, seed: int) -> Iterator[dict[str, Any]]:
    """Yield ``count`` sets of values by path: in every one of ``count`` equal shares of each distribution one value.

    Parameters
    ----------
    distributions : mapping of str to Distribution
        By dotted path.
    count : int
        How many.
    seed : int
        The same seed, count and number of paths give the same shares.
    """
    from scipy.stats.qmc import LatinHypercube

    generator = np.random.default_rng(seed)
    try:
        sampler = LatinHypercube(len(distributions), rng=generator)
    except TypeError:  # scipy before 1.15
        sampler = LatinHypercube(len(distributions), seed=generator)
    shares = sampler.random(count)
    columns = [one.values(shares[:, k]) for k, one in enumerate(distributions.values())]
    for row in zip(*columns, strict=True):
        yield dict(zip(distributions, row, strict=True))
