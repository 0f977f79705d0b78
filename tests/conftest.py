"""Shared by all tests: a compiled-code cache of its own, keyed by the sources, a seeded generator, options of the fuzz
tests."""

import hashlib
import os
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]


def _source_hash() -> str:
    digest = hashlib.sha256()
    for room in ("solver", "materials", "weather", "cases"):
        for path in sorted((ROOT / room).rglob("*.py")):
            digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


# Compiled code is cached per file; a cache named after all sources can never serve a stale callee.
os.environ.setdefault("NUMBA_CACHE_DIR", str(Path(tempfile.gettempdir()) / f"stemwall-numba-{_source_hash()}"))
# Weather that was read before is kept; the tests keep theirs apart from the user's.
os.environ.setdefault("STEMWALL_CACHE_DIR", str(Path(tempfile.gettempdir()) / "stemwall-kept-by-tests"))

import matplotlib  # noqa: E402
import numpy as np  # noqa: E402
import pytest  # noqa: E402
from hypothesis import settings  # noqa: E402

# no deadline: the time of one example says nothing on a busy machine
settings.register_profile("house", deadline=None)
settings.load_profile("house")

matplotlib.use("Agg")



def pytest_addoption(parser: pytest.Parser) -> None:
    """Options of tests/fuzz; they have to be known before that folder is looked into."""
    group = parser.getgroup("fuzz")
    group.addoption("--fuzz-seed", type=int, default=20011001, metavar="N", help="seed of what tests/fuzz draws")
    group.addoption("--fuzz-draws", type=int, default=None, metavar="N", help="draws of each test, slow ones included")


@pytest.fixture
def rng() -> np.random.Generator:
    return np.random.default_rng(20011001)
