"""The simulated tests return what the sheet states."""

import numpy as np
import pytest

from stemwall.cases.laboratory.evaluation import Evaluation
from stemwall.cases.laboratory.simulated import done_again, dried, marched_cup
from stemwall.materials.reference import linear_vapour


def test_a_cup_of_constant_permeability_returns_it() -> None:
    material = linear_vapour(2e-11)
    # its permeability does not change with temperature, what is returned is brought to 20 degC
    warmth = (296.15 / 293.15) ** -0.81
    assert marched_cup(material, 0.2, 0.8, 23.0) == pytest.approx(2e-11 * warmth, rel=1e-3)


def test_uptake_and_cups_come_back(brick: Evaluation) -> None:
    found = list(done_again(brick))
    assert [one.test.split()[0] for one in found] == ["uptake", "cup", "cup"]
    assert all(abs(one.difference) < 0.02 for one in found)
    assert all(one.low <= one.simulated <= one.high for one in found)


def test_drying_starts_full_and_ends_at_the_air(brick: Evaluation) -> None:
    one = next(dried(brick))
    assert one.simulated[0] == pytest.approx(brick.material.storage.saturation * 0.04, rel=1e-3)
    assert np.all(np.diff(one.simulated) < 0.0)
    assert one.simulated[-1] < 0.05 * one.simulated[0]
    assert one.apart < 0.15
