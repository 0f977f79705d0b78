"""Result files that are none: cut, foreign, damaged.  Each is named with what is wrong with it, and nothing is read."""

from __future__ import annotations

import gzip
from pathlib import Path

import h5py
import numpy as np
import pytest
import xarray as xr

from stemwall.cases.batch.single_run import slug
from stemwall.solver.results.stored_result import ResultError, check_result, complete_attribute, read_result
from tests.cases.samples import setup
from tests.fuzz.command import BAD_INPUT, DONE, stemwall
from tests.fuzz.runs import SHORT, short_run


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return short_run(tmp_path_factory.mktemp("whole") / "wall.nc")


def refused(path: Path) -> str:
    """Have a file refused by every reader and return what is said of it."""
    for read in (read_result, check_result, lambda one: complete_attribute(one, "title")):
        with pytest.raises(ResultError) as caught:
            read(path)
        assert str(path) in str(caught.value)
    return caught.value.found


@pytest.mark.draws(8, 150)
def test_a_file_that_was_cut_is_refused(draw: np.random.Generator, whole: Path, tmp_path: Path) -> None:
    data = whole.read_bytes()
    path = tmp_path / "cut.nc"
    path.write_bytes(data[: draw.integers(len(data))])
    refused(path)


@pytest.mark.draws(8, 150)
def test_a_file_with_flipped_bits_is_refused(draw: np.random.Generator, whole: Path, tmp_path: Path) -> None:
    data = np.frombuffer(whole.read_bytes(), dtype=np.uint8).copy()
    places = draw.integers(data.size, size=draw.choice([1, 1, 8, 64]))
    data[places] ^= np.uint8(1) << draw.integers(8, size=places.size, dtype=np.uint8)
    path = tmp_path / "flipped.nc"
    path.write_bytes(data.tobytes())
    if path.read_bytes() != whole.read_bytes():  # two flips may meet
        refused(path)


@pytest.mark.draws(4, 80)
def test_a_hole_of_zeros_is_refused(draw: np.random.Generator, whole: Path, tmp_path: Path) -> None:
    data = bytearray(whole.read_bytes())
    first, last = sorted(draw.integers(len(data), size=2))
    hole = bytes(last - first)
    if bytes(data[first:last]) == hole:
        return
    data[first:last] = hole
    path = tmp_path / "hole.nc"
    path.write_bytes(bytes(data))
    refused(path)


def _pretend(path: Path) -> None:
    """A file that has some of what a result has."""
    with h5py.File(path, "w") as file:
        file.attrs["completed"] = "yes"
        file["time"] = np.arange(1.0, 9.0)
        file["probe"] = np.arange(3)


def _foreign(path: Path) -> None:
    xr.Dataset({"depth": ("x", [1.0, 2.0])}).to_netcdf(path, engine="h5netcdf")


def _no_utf8(path: Path) -> None:
    with h5py.File(path, "w") as file:
        file.attrs["completed"] = np.bytes_(b"\xff\xfe")


@pytest.mark.parametrize(
    "make",
    [
        lambda path: path.write_bytes(b""),
        lambda path: path.write_text("no result\n" * 50),
        lambda path: path.write_bytes(bytes(100_000)),
        lambda path: path.write_bytes(gzip.compress(b"no result")),
        lambda path: path.mkdir(),
        lambda path: h5py.File(path, "w").close(),
        _pretend,
        _foreign,
        _no_utf8,
    ],
    ids=["empty", "text", "zeros", "compressed", "folder", "nothing in it", "some of it", "other data", "no text"],
)
def test_what_is_no_result_is_refused(tmp_path: Path, make: object) -> None:
    assert callable(make)
    path = tmp_path / "x.nc"
    make(path)
    refused(path)


def test_what_is_missing_is_refused(tmp_path: Path) -> None:
    assert "no such file" in refused(tmp_path / "x.nc")


@pytest.mark.parametrize("spoil", ["fill", "gap", "short"])
def test_numbers_that_are_missing_are_found(whole: Path, tmp_path: Path, spoil: str) -> None:
    """A file that another program wrote again has no checksum: its content is looked at."""
    data = read_result(whole)
    del data.attrs["sealed"]
    path = tmp_path / "again.nc"
    data.drop_encoding().to_netcdf(path, engine="h5netcdf")
    assert read_result(path).sizes == data.sizes
    if spoil == "fill":
        data["probe_temperature"][3, 0] = np.nan
    elif spoil == "gap":
        data = data.isel(time=[*range(5), *range(6, data.sizes["time"])])
    else:
        data = data.isel(time=slice(0, 0))
    data.drop_encoding().to_netcdf(path, engine="h5netcdf")
    assert "hour" in refused(path)


def test_a_report_is_on_those_that_can_be_read(whole: Path, tmp_path: Path) -> None:
    bad = tmp_path / "bad.nc"
    bad.write_bytes(whole.read_bytes()[:20_000])
    page = tmp_path / "r.html"
    result = stemwall("report", whole, bad, "--out", page, codes=[BAD_INPUT])
    assert f"{bad}: found" in result.output
    assert "1 of 2 results" in result.output
    assert page.is_file()
    page.unlink()
    stemwall("report", bad, tmp_path, "--out", page, codes=[BAD_INPUT])
    assert not page.exists()


@pytest.mark.draws(1, 6)
def test_a_run_that_goes_on_computes_what_is_damaged(draw: np.random.Generator, whole: Path, tmp_path: Path) -> None:
    case = tmp_path / "wall.toml"
    case.write_text(SHORT)
    target = tmp_path / f"{slug(setup(SHORT).case)}.nc"
    data = bytearray(whole.read_bytes())
    data[draw.integers(len(data))] ^= 1
    target.write_bytes(bytes(data))
    result = stemwall("run", case, "--out", tmp_path, "--resume", codes=[DONE])
    assert f"{target}: found" in result.output
    assert "computed again" in result.output
    check_result(target)
    assert "is complete" in stemwall("run", case, "--out", tmp_path, "--resume", codes=[DONE]).output


@pytest.mark.draws(3, 50)
def test_findings_of_refinement_that_are_noise_are_refused(draw: np.random.Generator, tmp_path: Path) -> None:
    (tmp_path / "a.nc").touch()
    path = tmp_path / "found.json"
    path.write_text("".join(draw.choice(list('{}[]":,0a findings'), 40)))
    result = stemwall("report", tmp_path / "a.nc", "--refined", path, codes=[BAD_INPUT])
    assert "found.json" in result.output
