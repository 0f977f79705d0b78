"""What is no weather file is refused at once, before anything is read that does not end."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from stemwall.weather import files as weather_files
from stemwall.weather.errors import WeatherError
from stemwall.weather.files import file_bytes, text_of
from stemwall.weather.read import read_weather


def refused(path: Path) -> str:
    """The one message of a file that is refused."""
    with pytest.raises(WeatherError) as caught:
        read_weather(path)
    (problem,) = caught.value.problems
    return str(problem)


@pytest.mark.parametrize("suffix", [".csv", ".epw", ".nc"])
def test_folders_and_empty_files(tmp_path: Path, suffix: str) -> None:
    folder, empty = tmp_path / f"folder{suffix}", tmp_path / f"empty{suffix}"
    folder.mkdir()
    empty.write_text(" \n")
    assert "found a folder; expected a weather file" in refused(folder)
    assert "found an empty file" in refused(empty)
    assert "found no such file" in refused(empty / f"below{suffix}")


@pytest.mark.skipif(sys.platform == "win32", reason="no pipes in folders")
def test_pipes_and_devices_are_not_opened(tmp_path: Path) -> None:
    pipe, device = tmp_path / "pipe.csv", tmp_path / "device.csv"
    os.mkfifo(pipe)
    device.symlink_to("/dev/zero")
    assert "found a pipe" in refused(pipe)
    assert "found a device" in refused(device)


def test_a_huge_file_is_not_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(weather_files, "LARGEST", 1000)
    path = tmp_path / "huge.csv"
    path.write_bytes(b"1" * 1001)
    assert "expected at most 0 MB" in refused(path)


def test_a_name_that_is_none() -> None:
    with pytest.raises(WeatherError):
        file_bytes(Path("a\0b.csv"))


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-be", "utf-16-le", "utf-32"])
def test_other_encodings(tmp_path: Path, encoding: str) -> None:
    path = tmp_path / "a.csv"
    path.write_bytes("time,temperature [degC]\n".encode(encoding))
    message = refused(path)
    assert "UTF-16" in message or "no text" in message
    assert "lines like: 2001-01-31T13:00,5.2" in message


def test_utf_8_with_a_mark_and_latin_1(tmp_path: Path) -> None:
    path = tmp_path / "a.txt"
    path.write_bytes("Zürich\n".encode("utf-8-sig"))
    assert text_of(path, "") == "Zürich\n"
    path.write_bytes(b"a\nZ\xfcrich\n")
    assert text_of(path, "", strict=False) == "a\nZürich\n"
    with pytest.raises(WeatherError, match="byte 0xfc in row 2, which is not UTF-8"):
        text_of(path, "")
