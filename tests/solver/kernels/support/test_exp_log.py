"""Powers of e and logarithms are those of the library."""

import numpy as np
import pytest

from stemwall.solver.kernels.support import exp_log


def test_exponentials_and_logarithm_agree_with_the_library() -> None:
    for x in np.concatenate([np.linspace(-50.0, 50.0, 4001), [-690.0, -1e-9, 0.0, 1e-9, 690.0]]):
        up, down = exp_log.exponentials(x)
        np.testing.assert_allclose([up, down], np.exp([x, -x]), rtol=5e-16)
    for x in np.concatenate([np.geomspace(1e-300, 1e300, 4001), np.linspace(0.5, 2.0, 1001)]):
        assert exp_log.logarithm(x) == pytest.approx(float(np.log(x)), rel=1e-15, abs=5e-16)
    assert np.all(np.isnan(exp_log.exponentials(np.nan)))
    assert abs(exp_log.exponential(-1e4)) < 1e-250
    assert exp_log.exponential(1e4) > 1e250
