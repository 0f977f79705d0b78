"""Statistics of series: a mean of equal values is that value, whatever came before it."""

import numpy as np
import pytest

from stemwall.solver.assessment.series_statistics import running_mean


@pytest.mark.parametrize("before", [0.7, 0.1, 1.0 / 3.0, 0.123456789])
def test_a_mean_of_equal_values_is_that_value(before: float) -> None:
    """A limit that is met exactly must not be missed by the noise of sums."""
    series = np.full(8760, before)
    series[500:524] = 1.0
    assert running_mean(series, 24)[523] == 1.0
