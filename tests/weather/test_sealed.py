"""Files that are kept: what was written or nothing, in a folder that is the user's own or none."""

from __future__ import annotations

import os
import threading
import time
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stemwall.weather import sealed
from stemwall.weather.cache import FOLDER_VARIABLE, cache_folder
from stemwall.weather.sealed import private_folder, read_sealed, write_sealed

posix = pytest.mark.skipif(os.name != "posix", reason="users and permissions")


@pytest.fixture(autouse=True)
def _nothing_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sealed, "_said", set())


@given(content=st.binary(max_size=200))
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=30)
def test_what_was_written_is_read(tmp_path: Path, content: bytes) -> None:
    write_sealed(tmp_path / "a", content)
    assert read_sealed(tmp_path / "a") == content
    assert os.listdir(tmp_path) == ["a"]


@given(
    content=st.binary(min_size=1, max_size=60), at=st.integers(min_value=0), bit=st.integers(0, 7), cut=st.booleans()
)
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=200)
def test_a_single_changed_bit_or_a_lost_end_is_noticed(
    tmp_path: Path, content: bytes, at: int, bit: int, cut: bool
) -> None:
    path = tmp_path / "a"
    write_sealed(path, content)
    whole = bytearray(path.read_bytes())
    at %= len(whole)
    if cut:
        del whole[at:]
    else:
        whole[at] ^= 1 << bit
    path.write_bytes(whole)
    assert read_sealed(path) is None
    assert not path.exists()


def test_a_file_under_the_name_of_another_is_noticed(tmp_path: Path) -> None:
    write_sealed(tmp_path / "a", b"content")
    os.replace(tmp_path / "a", tmp_path / "b")
    assert read_sealed(tmp_path / "b") is None
    assert os.listdir(tmp_path) == []


def test_a_file_that_is_not_there_is_none(tmp_path: Path) -> None:
    assert read_sealed(tmp_path / "a") is None
    (tmp_path / "folder").mkdir()
    assert read_sealed(tmp_path / "folder") is None


@posix
def test_a_file_that_others_can_change_or_that_leads_elsewhere_is_not_used(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a"
    write_sealed(path, b"content")
    assert path.stat().st_mode & 0o777 == 0o600
    path.chmod(0o620)
    assert read_sealed(path) is None
    (tmp_path / "elsewhere").mkdir()
    write_sealed(tmp_path / "elsewhere" / "a", b"content")
    path.symlink_to(tmp_path / "elsewhere" / "a")
    assert read_sealed(path) is None
    assert read_sealed(tmp_path / "elsewhere" / "a") == b"content"
    monkeypatch.setattr(os, "geteuid", lambda: path.parent.stat().st_uid + 1)
    assert read_sealed(tmp_path / "elsewhere" / "a") is None


def test_nothing_is_left_of_a_file_that_could_not_be_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    write_sealed(tmp_path / "a", b"before")
    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space left"):
        write_sealed(tmp_path / "a", b"after")
    assert os.listdir(tmp_path) == ["a"]
    assert read_sealed(tmp_path / "a") == b"before"


def test_a_reader_sees_all_of_a_file_while_others_write_it(tmp_path: Path) -> None:
    path = tmp_path / "a"
    contents = [bytes([number]) * 20000 for number in range(3)]
    write_sealed(path, contents[0])

    def write(content: bytes) -> None:
        for _ in range(20):
            write_sealed(path, content)

    writers = [threading.Thread(target=write, args=(content,)) for content in contents]
    for writer in writers:
        writer.start()
    while any(writer.is_alive() for writer in writers):
        assert read_sealed(path) in contents
    assert os.listdir(tmp_path) == ["a"]


def test_what_a_killed_process_left_goes_after_a_day(tmp_path: Path) -> None:
    for name, age in (("old", 2 * sealed.ABANDONED), ("new", 0.0)):
        (tmp_path / f"{name}{sealed.PARTIAL}").touch()
        os.utime(tmp_path / f"{name}{sealed.PARTIAL}", (time.time() - age,) * 2)
    write_sealed(tmp_path / "a", b"")
    assert sorted(os.listdir(tmp_path)) == ["a", f"new{sealed.PARTIAL}"]


@posix
def test_a_folder_is_made_for_the_user_alone(tmp_path: Path) -> None:
    before = os.umask(0)
    try:
        assert private_folder(tmp_path / "a" / "b") == tmp_path / "a" / "b"
    finally:
        os.umask(before)
    for folder in (tmp_path / "a", tmp_path / "a" / "b"):
        assert folder.stat().st_mode & 0o777 == 0o700


@posix
def test_reading_is_left_to_others_only_where_they_were_given_a_folder(tmp_path: Path) -> None:
    tmp_path.chmod(0o755)
    assert private_folder(tmp_path) == tmp_path
    assert tmp_path.stat().st_mode & 0o777 == 0o755
    assert private_folder(tmp_path, tighten=True) == tmp_path
    assert tmp_path.stat().st_mode & 0o777 == 0o700


@posix
@pytest.mark.parametrize("mode", [0o770, 0o702, 0o777])
def test_a_folder_that_others_may_write_to_is_refused_in_one_line(
    tmp_path: Path, mode: int, caplog: pytest.LogCaptureFixture
) -> None:
    tmp_path.chmod(mode)
    assert private_folder(tmp_path, tighten=True) is None
    assert private_folder(tmp_path, tighten=True) is None
    (record,) = caplog.records
    assert record.getMessage().endswith(f"{tmp_path}: others may write to it")
    assert "\n" not in record.getMessage()
    tmp_path.chmod(0o700)


@posix
def test_a_folder_of_another_user_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(os, "geteuid", lambda: tmp_path.stat().st_uid + 1)
    assert private_folder(tmp_path) is None
    assert caplog.records[0].getMessage().endswith("belongs to another user")


@posix
def test_a_folder_that_anybody_may_replace_is_refused(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    folder = tmp_path / "open" / "own"
    assert private_folder(folder) == folder
    folder.parent.chmod(0o777)
    assert private_folder(folder) is None
    assert "anybody may replace it" in caplog.records[0].getMessage()
    folder.parent.chmod(0o1777)
    assert private_folder(folder) == folder


def test_a_file_in_the_way_of_the_folder_is_said(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    (tmp_path / "file").touch()
    assert private_folder(tmp_path / "file") is None
    assert private_folder(tmp_path / "file" / "below") is None
    assert [record.getMessage().split(": ", 1)[0] for record in caplog.records] == [
        "nothing is kept for later runs, which start more slowly"
    ] * 2


@posix
def test_without_a_home_nothing_is_kept_anywhere(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    for variable in (FOLDER_VARIABLE, "XDG_CACHE_HOME"):
        monkeypatch.delenv(variable, raising=False)
    monkeypatch.setenv("HOME", str(tmp_path / "nowhere"))
    assert cache_folder() is None
    assert os.listdir(tmp_path) == []

    def unknown() -> Path:
        raise RuntimeError("Could not determine home directory.")

    monkeypatch.setattr(Path, "home", unknown)
    assert cache_folder() is None
    assert len(caplog.records) == 2


@posix
def test_the_folder_is_the_users_own_by_custom(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(FOLDER_VARIABLE, raising=False)
    monkeypatch.delenv("XDG_CACHE_HOME", raising=False)
    monkeypatch.setenv("HOME", str(tmp_path))
    folder = cache_folder()
    assert folder is not None
    assert folder.name == "stemwall"
    assert folder.is_relative_to(tmp_path)
    assert folder.stat().st_mode & 0o777 == 0o700
    # a folder that depends on where a command is given is none
    monkeypatch.setenv("XDG_CACHE_HOME", "here")
    assert cache_folder() == folder
