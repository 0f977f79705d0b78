"""Shared by all tests: a place of their own for what is kept, a seeded generator, options of the fuzz tests."""

import os
import signal
import tempfile
from pathlib import Path

# Compiled code, and weather that was read before, are kept; the tests keep theirs apart from the user's.
os.environ.setdefault("STEMWALL_CACHE_DIR", str(Path(tempfile.gettempdir()) / "stemwall-kept-by-tests"))

import matplotlib
import numpy as np
import pytest
from hypothesis import settings

# no deadline: the time of one example says nothing on a busy machine; the same examples every time, so that a change
# is what makes a test fail: others with HYPOTHESIS_PROFILE=explore
settings.register_profile("house", deadline=None, derandomize=True)
settings.register_profile("explore", deadline=None, print_blob=True)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "house"))

matplotlib.use("Agg")

# a shell lets what it runs in the background ignore Ctrl-C, and processes hand that on
if signal.getsignal(signal.SIGINT) == signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)


def pytest_addoption(parser: pytest.Parser) -> None:
    """Options of tests/fuzz; they have to be known before that folder is looked into."""
    group = parser.getgroup("fuzz")
    group.addoption("--fuzz-seed", type=int, default=20011001, metavar="N", help="seed of what tests/fuzz draws")
    group.addoption("--fuzz-draws", type=int, default=None, metavar="N", help="draws of each test, slow ones included")


@pytest.fixture
def rng() -> np.random.Generator:
    return np.random.default_rng(20011001)
