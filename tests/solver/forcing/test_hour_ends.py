"""Hourly means joined at the ends of hours: sums and waves are kept, what cannot be negative is not, blocks agree."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stemwall.solver.forcing.hour_ends import at_hour_ends, sharpened, with_neighbours


def _joined(ends: np.ndarray, t: np.ndarray) -> np.ndarray:
    return np.interp(t, np.arange(ends.size), ends)


def test_a_daily_wave_keeps_its_amplitude_within_a_thousandth() -> None:
    """Exact hourly means of a wave of amplitude one; the first harmonic of the joined line, ten days, ends left out."""
    hours, w = 240, 2 * np.pi / 24
    edges = np.arange(hours + 1)
    means = (np.cos(w * edges[:-1]) - np.cos(w * edges[1:])) / w
    t = np.linspace(24, 216, 192 * 200, endpoint=False)
    line = _joined(at_hour_ends(means, slice(0, hours)), t)
    amplitude = 2 * np.mean(line * np.sin(w * t))
    assert amplitude == pytest.approx(1.0, abs=1e-3)
    assert np.abs(line - np.sin(w * t)).max() < 0.01


def test_the_mean_of_two_hours_alone_would_damp_it() -> None:
    """So the bound above says something: without sharpening 1.7 % are lost."""
    hours, w = 240, 2 * np.pi / 24
    edges = np.arange(hours + 1)
    means = (np.cos(w * edges[:-1]) - np.cos(w * edges[1:])) / w
    plain = np.concatenate([means[:1], 0.5 * (means[1:] + means[:-1]), means[-1:]])
    t = np.linspace(24, 216, 192 * 200, endpoint=False)
    assert 2 * np.mean(_joined(plain, t) * np.sin(w * t)) == pytest.approx(0.983, abs=1e-3)


@given(st.lists(st.floats(0, 1000), min_size=1, max_size=40), st.booleans())
def test_sums_are_kept_and_what_is_bounded_stays_so(values: list[float], bounded: bool) -> None:
    means = np.array(values)
    sharp = sharpened(means, bounded=bounded)
    assert sharp.sum() == pytest.approx(means.sum(), rel=1e-12, abs=1e-9)
    ends = at_hour_ends(means, slice(0, means.size), bounded=bounded)
    if bounded:
        assert sharp.min() >= -1e-12 * means.max()
        assert ends.min() >= -1e-12 * means.max()
    assert 0.5 * (ends[1:] + ends[:-1]).sum() == pytest.approx(means.sum(), rel=1e-12, abs=1e-9)


@given(st.integers(0, 30), st.integers(1, 12), st.booleans())
def test_a_block_joins_as_the_whole_does(first: int, length: int, bounded: bool) -> None:
    means = np.random.default_rng(3).exponential(10.0, (45, 2)) * np.array([1.0, 0.0])
    held = slice(first, first + length)
    around, here = with_neighbours(held, len(means))
    np.testing.assert_array_equal(
        at_hour_ends(means[around], here, bounded=bounded), at_hour_ends(means, held, bounded=bounded)
    )


def test_a_sun_that_rises_takes_nothing_from_the_night() -> None:
    sun = np.array([0.0, 0.0, 0.0, 100.0, 300.0, 400.0])
    ends = at_hour_ends(sun, slice(0, 6), bounded=True)
    np.testing.assert_array_equal(ends[:3], 0.0)
    assert ends.min() >= 0.0
    assert at_hour_ends(sun, slice(0, 6)).min() < 0.0
