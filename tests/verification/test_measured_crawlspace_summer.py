"""The crawlspaces of a humid summer: what mesh and steps leave open, and that the walls decide about sealing."""

import pytest

from stemwall.cases.verification.measured.crawlspace_summer import (
    FINE,
    HOUSE,
    OPEN,
    SHUT,
    SUMMER,
    SUPPLY,
    crawlspace,
    humidity,
)
from stemwall.cases.verification.rules_of_practice.runs import VENTED, WICKING, Season, run

pytestmark = pytest.mark.slow


@pytest.mark.parametrize("change", [{"zone.crawlspace.outdoor_leakage": 4.0}, SUPPLY], ids=["vented", "closed"])
def test_finer_cells_and_steps_change_the_humidity_by_two_points_at_most(change):
    season = Season("2020-03-01", 184)
    coarse, fine = (
        humidity(run(VENTED, season, {**HOUSE, **change, **finer}, station="durham_nc"), *SUMMER).mean()
        for finer in ({}, FINE)
    )
    assert fine == pytest.approx(coarse, abs=0.02)


def test_walls_that_wick_for_ever_turn_the_effect_of_sealing_round():
    vented, sealed = (humidity(crawlspace(rate, WICKING), 7).mean() for rate in (OPEN[0], SHUT[1]))
    assert sealed > vented + 0.03
