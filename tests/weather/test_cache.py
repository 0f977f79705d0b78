"""What is kept of the weather: found again, never out of date, never in the way."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from stemwall.weather import cache as kept_module
from stemwall.weather.cache import FOLDER_VARIABLE, Entry, kept
from stemwall.weather.read import read_weather
from stemwall.weather.solar import plane_irradiance
from stemwall.weather.year import WeatherYear
from tests.weather.conftest import Writer


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "kept"
    monkeypatch.setenv(FOLDER_VARIABLE, str(path))
    return path


@pytest.fixture(autouse=True)
def _nothing_in_memory(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept_module, "MOST_IN_MEMORY", 0)
    kept_module._memory.clear()


class Maker:
    """Makes an entry and counts how often."""

    def __init__(self, value: float) -> None:
        self.value, self.made = value, 0

    def __call__(self) -> Entry:
        self.made += 1
        return Entry({"a": np.full(3, self.value)}, {"words": ["x", "ß"]})


def test_an_entry_is_made_once(folder: Path) -> None:
    maker = Maker(1.5)
    first, second = kept(("k", 1), maker), kept(("k", 1), maker)
    assert maker.made == 1
    np.testing.assert_array_equal(first.arrays["a"], second.arrays["a"])
    assert first.facts == second.facts
    assert [path.suffix for path in folder.iterdir()] == [".kept"]


def test_another_key_or_another_maker_is_another_entry(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert kept(("k", 1), Maker(1.0)).arrays["a"][0] == 1.0
    assert kept(("k", 2), Maker(2.0)).arrays["a"][0] == 2.0
    monkeypatch.setattr(kept_module, "_makers", lambda: ("other sources",))
    assert kept(("k", 1), Maker(3.0)).arrays["a"][0] == 3.0


def test_a_damaged_entry_is_made_again(folder: Path) -> None:
    kept(("k",), Maker(1.0))
    for content in (b"", b"no zip", next(folder.iterdir()).read_bytes()[:-40]):
        next(folder.iterdir()).write_bytes(content)
        maker = Maker(1.0)
        assert kept(("k",), maker).arrays["a"][0] == 1.0
        assert maker.made == 1


def test_a_folder_that_cannot_be_used_is_no_error(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_text("in the way")
    for place in (str(tmp_path / "file" / "below"), ""):
        monkeypatch.setenv(FOLDER_VARIABLE, place)
        maker = Maker(1.0)
        kept(("k",), maker)
        kept(("k",), maker)
        assert maker.made == 2


def test_the_oldest_entries_go(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept_module, "MOST", 3)
    for number in range(6):
        kept((number,), Maker(float(number)))
    assert len(list(folder.iterdir())) == 3


def test_a_year_read_again_is_the_same(
    folder: Path, clear_year: WeatherYear, write_tmy3: Writer, tmp_path: Path
) -> None:
    path = write_tmy3(clear_year, tmp_path / "a.csv")
    first = read_weather(path)
    (entry,) = folder.iterdir()
    stamp = entry.stat().st_mtime_ns
    second = read_weather(path)
    assert entry.stat().st_mtime_ns == stamp
    assert first.arrays().keys() == second.arrays().keys()
    for name, values in first.arrays().items():
        np.testing.assert_array_equal(values, second.arrays()[name])
        assert values.dtype == second.arrays()[name].dtype
    for name in ("start", "station", "latitude", "elevation", "notes", "sha256", "typical", "provenance", "source"):
        assert getattr(first, name) == getattr(second, name), name


def test_another_content_is_another_year(
    folder: Path, clear_year: WeatherYear, write_tmy3: Writer, tmp_path: Path
) -> None:
    first = read_weather(write_tmy3(clear_year, tmp_path / "a.csv"))
    warmer = replace(clear_year, temperature=clear_year.temperature + 1.0)
    second = read_weather(write_tmy3(warmer, tmp_path / "a.csv"))
    np.testing.assert_allclose(second.temperature, first.temperature + 1.0, atol=0.06)


def test_irradiance_is_kept_by_plane(folder: Path, clear_year: WeatherYear) -> None:
    south, again = (plane_irradiance(clear_year, 90.0, 180.0) for _ in range(2))
    west = plane_irradiance(clear_year, 90.0, 270.0)
    np.testing.assert_array_equal(south.total, again.total)
    assert np.abs(south.direct - west.direct).max() > 50.0
    assert len(list(folder.iterdir())) == 2


def test_a_process_reads_an_entry_from_the_disk_once(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept_module, "MOST_IN_MEMORY", 2)
    first = kept((0,), Maker(0.0))
    next(folder.iterdir()).unlink()
    assert kept((0,), Maker(1.0)) is first
    assert not first.arrays["a"].flags.writeable
    for number in range(1, 3):
        kept((number,), Maker(1.0))
    assert kept((0,), Maker(1.0)).arrays["a"][0] == 1.0
