"""Input drawn at random: each draw is a test of its own, made again by its seed and its number.

A test that takes ``draw`` is run a few times with the fast tests, many times with ``-m slow``; the marker ``draws``
says how often.  ``--fuzz-draws N`` makes it N times instead, ``--fuzz-seed N`` draws others.
"""

from __future__ import annotations

import numpy as np
import pytest

FEW, MANY = 5, 100


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Run a test that takes ``draw`` once for each number."""
    if "draw" not in metafunc.fixturenames:
        return
    marker = metafunc.definition.get_closest_marker("draws")
    few, many = marker.args if marker else (FEW, MANY)
    asked = metafunc.config.getoption("--fuzz-draws")
    if asked is not None:
        few = many = asked
    slow = [pytest.param(number, marks=pytest.mark.slow) for number in range(few, many)]
    metafunc.parametrize("draw", [*range(few), *slow], indirect=True)


@pytest.fixture
def draw(request: pytest.FixtureRequest) -> np.random.Generator:
    """A generator for this draw."""
    return np.random.default_rng([request.config.getoption("--fuzz-seed"), request.param])
