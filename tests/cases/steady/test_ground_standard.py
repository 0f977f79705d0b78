"""Floors by ISO 13370: the cases that have to agree with each other, and limits."""

from __future__ import annotations

from dataclasses import replace
from math import log, pi

import pytest

from stemwall.cases.steady.ground_standard import GroundFloor
from stemwall.cases.verification.conduction.slab import formula

SLAB = GroundFloor("slab on ground", 8.0, 0.3, 2.0, 2.0e6, 0.0)


@pytest.mark.parametrize("resistance", [0.0, 0.5, 1.0, 2.5, 20.0])
def test_a_slab_is_that_of_the_verification(resistance: float) -> None:
    assert replace(SLAB, floor=resistance).transmittance * 8.0 == pytest.approx(formula(resistance))
    assert replace(SLAB, floor=resistance).stationary == pytest.approx(0.5 * formula(resistance))


def test_a_basement_without_depth_is_a_slab() -> None:
    shallow = replace(SLAB, kind="basement", depth=1e-9)
    assert shallow.transmittance == pytest.approx(SLAB.transmittance)
    assert shallow.periodic == pytest.approx(SLAB.periodic)
    deep = replace(SLAB, kind="basement", depth=2.0, basement_wall=1.0)
    z, dw, dt = 2.0, 2.0 * 1.17, 0.3 + 2.0 * 0.21
    by_hand = 4.0 / (pi * z) * (1.0 + 0.5 * dt / (dt + z)) * log(z / dw + 1.0)
    assert deep.wall_transmittance == pytest.approx(by_hand)
    assert deep.stationary == pytest.approx(4.0 * deep.transmittance + 2.0 * by_hand)


def test_a_suspended_floor_lies_between_its_own_and_the_grounds_resistance() -> None:
    still = replace(SLAB, kind="suspended floor", suspended=1.0)
    ground = 4.0 / (pi * 8.0 + SLAB.thickness) * log(pi * 8.0 / SLAB.thickness + 1.0)
    assert 1.0 / still.transmittance == pytest.approx(1.34 + 1.0 / ground)
    windy = replace(still, ventilation=1e9)
    assert 1.0 / windy.transmittance == pytest.approx(1.34)
    assert windy.periodic[1] == pytest.approx(4.0 / 1.34, rel=1e-6)


def test_less_of_the_year_passes_a_better_floor() -> None:
    inner, outer = SLAB.periodic
    better = replace(SLAB, floor=3.0).periodic
    assert 0.0 < better[0] < inner
    assert 0.0 < better[1] < outer
