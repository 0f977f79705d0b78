"""What holds of the evaporation of bare ground beside what is known not to."""

import pytest

from stemwall.cases.verification.measured.crawlspace import evaporation


@pytest.mark.slow
def test_evaporation_misses_by_its_amount_alone():
    more, most, amount = evaporation()
    assert more.holds
    assert most.holds
    assert amount.error < 210.0
