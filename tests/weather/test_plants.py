"""Leaves: what they evaporate by day, by night and in the cold, and the sun they let pass."""

import numpy as np
import pytest

from stemwall.weather.plants import leaf_vapour_conductance, shading


def test_reference_grass_by_day_and_night() -> None:
    """FAO-56: 70 s/m for grass 0.12 m tall by day; 200 s/m at night (ASCE 2005)."""
    film = 1.0e12  # leaves alone
    day, night = leaf_vapour_conductance(film, 20.0, [500.0, 0.0])
    assert 1.0 / (day * 461.5 * 293.15) == pytest.approx(70.0, rel=0.01)
    assert 1.0 / (night * 461.5 * 293.15) == pytest.approx(200.0, rel=1e-9)


def test_film_and_stomata_stand_in_series() -> None:
    both, film = leaf_vapour_conductance(5e-8, 20.0, 500.0), 5e-8
    leaves = leaf_vapour_conductance(1e12, 20.0, 500.0)
    assert 1.0 / both == pytest.approx(1.0 / film + 1.0 / leaves)


def test_cold_grass_rests() -> None:
    assert np.all(leaf_vapour_conductance(5e-8, [-5.0, 5.0], 300.0) == 0.0)
    assert leaf_vapour_conductance(5e-8, 5.1, 300.0) > 0.0


def test_more_leaves_let_less_sun_pass() -> None:
    assert shading(0.0) == 0.0
    assert shading(1.0) == pytest.approx(1.0 - np.exp(-0.7))
    assert shading(2.0) > shading(1.0)
