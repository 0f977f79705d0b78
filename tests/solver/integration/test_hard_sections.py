"""Sections and weather that the iteration once gave up in, or that left balances open, at most 72 h each."""

from pathlib import Path

import pytest

from tests.test_benchmarks import script

SECTIONS = sorted((Path(__file__).parent / "hard_sections").glob("*.toml"))


@pytest.fixture(scope="module")
def weather(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with years of hostile weather."""
    folder = tmp_path_factory.mktemp("weather")
    script("robustness_sections").write_weather(folder)
    return folder


@pytest.mark.parametrize("section", SECTIONS, ids=lambda path: path.stem)
def test_what_was_given_up_is_marched_to_its_end(section: Path, weather: Path) -> None:
    found = script("robustness_random").march_text(section.read_text(), weather, 0, 300.0)
    assert (found.ended, found.why) == ("done", "")
    assert found.hours == 72
    assert found.balance < 1e-9
