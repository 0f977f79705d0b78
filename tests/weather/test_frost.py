"""Air-freezing index: no frost, one cold spell, the harder of two winters; the wave is a verification case."""

import numpy as np
import pytest

from stemwall.weather.frost import air_freezing_index


def test_a_spell_counts_its_kelvins_and_days() -> None:
    assert air_freezing_index(np.full(240, 5.0)) == 0.0
    year = np.concatenate([np.full(100 * 24, 8.0), np.full(30 * 24, -6.0), np.full(235 * 24, 8.0)])
    assert air_freezing_index(year) == pytest.approx(180.0)


def test_a_thaw_in_between_is_taken_off_and_winters_are_not_added() -> None:
    spell, thaw, summer = np.full(240, -6.0), np.full(48, 5.0), np.full(2400, 15.0)
    assert air_freezing_index(np.concatenate([summer, spell, thaw, spell])) == pytest.approx(60 - 10 + 60)
    assert air_freezing_index(np.concatenate([summer, spell, summer, 2 * spell, summer])) == pytest.approx(120.0)
