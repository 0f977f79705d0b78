"""Results read back: every reader of a result file comes through here, and finds it whole or is told what is wrong.

`ResultWriter` ends a file with a SHA-256 digest of all its bytes.  It is compared before HDF5 sees the file, because
HDF5 has no checksums for attributes and texts, reads a flipped bit of an uncompressed number as another number, and may
end the process over a damaged header.  A file without digest, for example one that was cut short or the checkpoint
of a run that was killed, is read with care.
"""

from __future__ import annotations

import hashlib
import stat
from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO

import numpy as np

from stemwall.solver.model.arrays import Floats
from stemwall.solver.results.staged_file import PAGE, SEAL, SEALED_BYTES

if TYPE_CHECKING:
    import xarray as xr

#: attributes: what became of the run ("yes", "interrupted", "failed"); how the file ends
COMPLETED, SEALED = "completed", "sealed"
#: what every result has, hour by hour: name, and the dimension beside time
NEEDED = {
    "probe_temperature": "probe",
    "probe_relative_humidity": "probe",
    "probe_water_content": "probe",
    "heat_flow": "surface",
    "vapour_flow": "surface",
    "liquid_flow": "surface",
    "climate_temperature": "climate",
    "climate_relative_humidity": "climate",
    "stored_water": "",
    "stored_heat": "",
}
#: texts of every result
TEXTS = ("probe", "probe_kind", "probe_mould_class", "surface", "surface_climate", "climate", "material")
#: HDF5 compresses zeros by no more than this [-]: a file that claims more is damaged
DENSEST = 2000
#: share of all that flowed that a balance may be open by at any hour [-]
OPEN = 1e-6
EXPECTED = "a result file of `stemwall run`"


class ResultError(ValueError):
    """A file that cannot be read as a result.

    Parameters
    ----------
    path : Path
        The file.
    found : str
        What is wrong with it.
    expected : str
        What would be accepted.
    """

    def __init__(self, path: Path, found: str, expected: str = EXPECTED) -> None:
        self.path, self.found, self.expected = path, found, expected
        super().__init__(f"{path}: found {found}; expected {expected}")

    def __reduce__(self) -> tuple[Any, ...]:
        return type(self), (self.path, self.found, self.expected)


def read_result(path: Path, *, along: str | None = None) -> xr.Dataset:
    """Return a result, checked and in memory.

    Parameters
    ----------
    path : Path
        Result file.
    along : str, optional
        Only the variables of this dimension.

    Raises
    ------
    ResultError
        If it is none, or a damaged one.
    """
    import xarray as xr

    with _opened(path) as (stream, file):
        check(path, file)
        stream.seek(0)
        with xr.open_dataset(stream, engine="h5netcdf") as found:
            names = [name for name, variable in found.variables.items() if along is None or along in variable.dims]
            return found[names].load()


def complete_attribute(path: Path, name: str) -> str:
    """Return an attribute of a complete result as text, empty if it lacks it or is not complete.

    Raises
    ------
    ResultError
        If the file is no result, or a damaged one.
    """
    with _opened(path) as (_, file):
        if file.attrs.get(SEALED) is None:
            check(path, file)
        return str(file.attrs.get(name, "")) if str(file.attrs.get(COMPLETED, "")) == "yes" else ""


def attribute(path: Path, name: str) -> str:
    """Return an attribute of a result, complete or not, as text; empty if it lacks it or is no result."""
    try:
        with _opened(path) as (_, file):
            return str(file.attrs.get(name, ""))
    except ResultError:
        return ""


def check_result(path: Path) -> None:
    """Look whether a file is a whole result: see `check`.

    Raises
    ------
    ResultError
        If it is not.
    """
    with _opened(path) as (_, file):
        check(path, file)


@contextmanager
def _opened(path: Path) -> Iterator[tuple[BinaryIO, Any]]:
    """Open a result; whatever reading it raises is told as a `ResultError`, which names the file."""
    import h5py

    try:
        kind = path.stat().st_mode
        if not stat.S_ISREG(kind):
            raise ResultError(path, "a folder" if stat.S_ISDIR(kind) else "no regular file")
        with path.open("rb") as stream:
            sealed = _sealed(path, stream)
            stream.seek(0)
            with h5py.File(stream, "r") as opened, _quiet(opened) as file:
                if str(file.attrs.get(SEALED, "")) and not sealed:
                    found = "a result without the checksum at its end: it was cut or changed"
                    raise ResultError(path, found, f"{EXPECTED} as it was written, or no attribute {SEALED!r} in it")
                yield stream, file
    except ResultError:
        raise
    except FileNotFoundError as error:
        raise ResultError(path, "no such file") from error
    except Exception as error:
        # HDF5 and what stands on it raise anything over a foreign or damaged file
        said = str(error).strip().splitlines()
        why = f" ({said[0].rstrip('.')})" if said else ""
        raise ResultError(path, f"a file that cannot be read{why}") from error


def _quiet(opened: Any) -> Any:
    """Return an open HDF5 file as one of netCDF, whose destructor has nothing to say if it turns out to be none."""
    import h5netcdf

    class Quiet(h5netcdf.File):  # type: ignore[misc]
        _writable = False

    return Quiet(opened, "r")


def _sealed(path: Path, stream: BinaryIO) -> bool:
    """Whether a file ends with the digest of what stands before; one that ends with another is refused."""
    size = stream.seek(0, 2)
    if size < SEALED_BYTES:
        return False
    stream.seek(size - SEALED_BYTES)
    end = stream.read(SEALED_BYTES)
    if not end.startswith(SEAL):
        return False
    stream.seek(0)
    digest, left = hashlib.sha256(), size - SEALED_BYTES
    while left:
        piece = stream.read(min(16 * PAGE, left))
        if not piece:
            raise ResultError(path, "a file that becomes shorter while it is read")
        digest.update(piece)
        left -= len(piece)
    if digest.digest() != end[len(SEAL) :]:
        found = "contents that do not belong to the checksum at its end: it is damaged"
        raise ResultError(path, found, f"{EXPECTED} as it was written")
    return True


def check(path: Path, file: Any) -> None:
    """Look at all that an open result holds: hours without gap, no number missing, balances that close.

    Parameters
    ----------
    path : Path
        Its name in messages.
    file : h5netcdf.File
        The file.

    Raises
    ------
    ResultError
        At the first thing that is wrong.
    """
    names = set(file.variables)
    missing = [name for name in ("time", *NEEDED, *TEXTS) if name not in names]
    if missing:
        raise ResultError(path, f"no variable {missing[0]!r}")
    if "start" not in file.attrs or COMPLETED not in file.attrs:
        raise ResultError(path, "no start of the run" if "start" not in file.attrs else "no word on how it ended")
    claimed = sum(int(np.prod(file[name].shape, dtype=float)) * 8 for name in names)
    if claimed > DENSEST * path.stat().st_size:
        raise ResultError(path, f"variables of {claimed:,} bytes, more than the file can hold")
    time = _hours(file)
    if time.size == 0 or not np.array_equal(time, np.arange(1.0, time.size + 1.0)):
        raise ResultError(path, "hours that are not counted 1, 2, 3 ... to the end")
    for name in sorted(names):
        dims = tuple(file[name].dimensions)
        if name in NEEDED and dims != ("time", *filter(None, [NEEDED[name]])):
            raise ResultError(path, f"{name} over {', '.join(dims) or 'nothing'}")
        if dims[:1] == ("time",):
            there = np.isfinite(file[name][:])
            if not there.all() and (name in NEEDED or (there != there[0]).any()):
                raise ResultError(path, f"{name} without a number in some hour")
    _check_fields(path, file, names)
    if str(file.attrs[COMPLETED]) == "yes" and (found := open_balance(file.attrs)):
        raise ResultError(path, found)


def _hours(file: Any) -> Floats:
    """Times in hours since the start of the run, whatever unit another program gave them."""
    unit, _, since = str(file["time"].attrs["units"]).partition(" since ")
    hours = {"days": 24.0, "hours": 1.0, "minutes": 1 / 60, "seconds": 1 / 3600}[unit]
    first = np.datetime64(since.strip().replace(" ", "T")) - np.datetime64(str(file.attrs["start"]))
    return np.asarray(file["time"][:] * hours + first / np.timedelta64(1, "h"))


def open_balance(attributes: Mapping[str, Any]) -> str:
    """Say which balance does not close, by the attributes of a result; empty if both do."""
    for what in ("heat", "water"):
        value = float(attributes.get(f"balance_{what}_relative", 0.0))
        if not value <= OPEN:
            return f"a balance of {what} that is open by {value:.2g} of what flowed; {OPEN:g} is the most"
    return ""


def _check_fields(path: Path, file: Any, names: Collection[str]) -> None:
    """Look at the fields one by one: they are the largest part, and need not all be in memory."""
    fields = [name for name in sorted(names) if file[name].dimensions == ("field_time", "y", "x")]
    if not fields:
        return
    solid = np.asarray(file["cell_material"][:]) >= 0
    for name in fields:
        for n in range(file[name].shape[0]):
            if not np.isfinite(file[name][n][solid]).all():
                raise ResultError(path, f"{name} without a number in some cell of field {n + 1}")
