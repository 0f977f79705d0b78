"""The result file: one netCDF-4 file per run, written as the run goes.

CF conventions; units on every variable.  The file is written beside its final
name, see `staged` and `result_files`, and gets it when it is complete.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, datetime
from functools import partial
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from types import TracebackType
from typing import Any

import h5netcdf
import h5py
import numpy as np
from numpy.typing import NDArray

from stemwall.materials.material import Material
from stemwall.solver.integration.statistics import Statistics
from stemwall.solver.integration.system import System
from stemwall.solver.model.arrays import Floats
from stemwall.solver.model.errors import OutputError, SolverError, told
from stemwall.solver.results.interrupts import Interrupts
from stemwall.solver.results.output_places import cannot_write, check_place, partial_path
from stemwall.solver.results.probes import PlacedProbe
from stemwall.solver.results.result_names import clear, failed_path, interrupted_path, salvage
from stemwall.solver.results.staged_file import StagedFile, sync_folder
from stemwall.solver.results.stored_result import COMPLETED, SEALED, ResultError, check_result, open_balance

#: hours kept in memory before they are written
CHUNK = 24 * 14

#: what humidities refer to
OVER_ICE = "relative to saturation over ice below 0 degC"
SERIES: tuple[tuple[str, str, str, str], ...] = (
    ("probe_temperature", "probe", "degC", "temperature at the probe"),
    ("probe_relative_humidity", "probe", "1", f"relative humidity at the probe, {OVER_ICE}"),
    ("probe_water_content", "probe", "kg m-3", "water content of the probe's material, liquid and ice"),
    ("probe_ice_content", "probe", "kg m-3", "ice in the probe's material"),
    (
        "piece_water_content", "probe", "kg m-3",
        "mean water content of the piece of wood that the probe is on, up to 0.3 m along either axis; NaN elsewhere",
    ),
    ("heat_flow", "surface", "W m-1", "heat entering through the surface, mean of the hour, latent heat included"),
    ("vapour_flow", "surface", "kg m-1 s-1", "vapour entering through the surface, mean of the hour"),
    ("liquid_flow", "surface", "kg m-1 s-1", "liquid water entering through the surface, mean of the hour"),
    ("water_refused", "surface", "kg m-1 s-1", "offered water that ran off, mean of the hour"),
    ("heat_with_water", "surface", "W m-1", "share of heat_flow that vapour and liquid carry, above water at 0 degC"),
    ("source_heat", "source", "W m-1", "heat that the source gave, mean of the hour"),
    ("source_water", "source", "kg m-1 s-1", "water that the source gave, mean of the hour; its heat came with it"),
    ("climate_temperature", "climate", "degC", "air temperature of the climate, mean of the hour"),
    ("climate_relative_humidity", "climate", "1", "relative humidity of the climate, mean of the hour, as given"),
    ("stored_water", "", "kg m-1", "water in the section"),
    ("stored_heat", "", "J m-1", "enthalpy of the section above 0 degC"),
    ("water_closure", "", "kg m-1", "storage change less all flows since the start"),
    ("heat_closure", "", "J m-1", "storage change less all flows since the start"),
)  # fmt: skip
FIELDS: tuple[tuple[str, str, str], ...] = (
    ("temperature", "degC", "cell mean temperature"),
    ("relative_humidity", "1", f"cell mean relative humidity, {OVER_ICE}"),
    ("water_content", "kg m-3", "cell mean water content, liquid and ice"),
    ("ice_content", "kg m-3", "cell mean ice content"),
)


def versions() -> dict[str, str]:
    """Versions of stemwall and of the packages that carry a run."""
    found = {}
    for name in ("stemwall", "numpy", "scipy", "numba", "xarray", "h5netcdf", "h5py", "pvlib"):
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            found[name] = "not installed"
    return found


class ResultWriter:
    """Context manager that appends hours and fields to a result file.

    Leaving it normally gives the file its final name, once what lies on disk was read back and found whole.  What
    an interrupted or failed run has computed goes beside that, see `result_files`: with the attributes ``completed``
    ("interrupted" or "failed"), ``reason`` and ``hour``, the last that was recorded; the error gets a note that says
    so.  What was written before under the final name stays until a complete result replaces it.

    Parameters
    ----------
    path : Path
        Final name.

    Raises
    ------
    PlaceError
        If nothing can be written there.
    """

    def __init__(self, path: Path) -> None:
        self.path = check_place(path)
        salvage(self.path)
        self.partial = partial_path(self.path)
        # no call of HDF5 may be interrupted: it calls `StagedFile`, and an exception there can end the process
        self.interrupts = Interrupts()
        self._rows: list[tuple[float, Mapping[str, Any]]] = []
        self._waiting: list[tuple[float, list[NDArray[np.float32]]]] = []
        self._first: Callable[[], None] | None = None
        self._fields = 0
        self._hours = 0
        #: hours of the last checkpoint
        self._safe = 0

    def __enter__(self) -> ResultWriter:
        self.interrupts.__enter__()
        try:
            self._staged = StagedFile(self.partial)
        except OSError as error:
            self.interrupts.__exit__(None, None, None)
            raise cannot_write(self.path, error, place=True) from error
        self._hdf = h5py.File(self._staged, "w", track_order=True)
        self.file = h5netcdf.File(self._hdf, "w")
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        try:
            with self.interrupts.held_back():
                self._leave(error)
        finally:
            self._staged.close()
            self.partial.unlink(missing_ok=True)
        try:
            self.interrupts.__exit__(kind, error, trace)
        except KeyboardInterrupt as late:
            late.add_note(f"the result is complete: {self.path}")
            raise

    def _leave(self, error: BaseException | None) -> None:
        """End the file as it has to be ended after this error, or after none."""
        if error is None:
            found = open_balance(self.file.attrs)
            if not found:
                self._end("yes", self.path)
                clear(self.path)
                return
            error = SolverError(found)
            self._leave(error)
            raise error
        note = ""
        try:
            if isinstance(error, OutputError):
                note = self._keep_checkpoint()
            elif self._hours + len(self._rows):
                state, path = "interrupted", interrupted_path(self.path)
                if isinstance(error, Exception):
                    state, path = "failed", failed_path(self.path)
                self._end(state, path, str(error) or state)
                note = self._kept(self._hours, path)
        except OutputError as other:
            note = told(other)
        finally:
            self._close()
        if note:
            error.add_note(note)

    def _end(self, state: str, path: Path, reason: str = "") -> None:
        """Write all, close, seal, read back, and give the file a name."""
        self._append()
        attributes = self.file.attrs
        attributes[COMPLETED], attributes[SEALED] = state, "sha256"
        if state == "yes":
            for name in ("reason", "hour"):
                attributes.pop(name, None)
        else:
            attributes["reason"], attributes["hour"] = reason, self._hours
        self._close()
        try:
            self._staged.commit()
            self._staged.seal()
            check_result(self.partial)
            self._name(path)
        except (OSError, ResultError) as error:
            if isinstance(error, OSError):
                lost = cannot_write(self.path, error)
            else:
                lost = OutputError(f"{self.path}: cannot be written: what lies on disk is {error.found}")
            if note := self._keep_checkpoint():
                lost.add_note(note)
            raise lost from error

    def _close(self) -> None:
        """Have HDF5 write all that it holds, into memory."""
        self.file.close()
        self._hdf.close()

    def _name(self, path: Path) -> None:
        if os.name == "nt":  # where a file that is open keeps its name
            self._staged.close()
        os.replace(self.partial, path)
        sync_folder(path.parent)

    def _keep_checkpoint(self) -> str:
        """Keep what was on disk before a write failed, if it is whole; return a note on it."""
        if self._staged.torn or not self._safe or not self.partial.exists():
            return ""
        path = failed_path(self.path)
        try:
            self._staged.trim()
            check_result(self.partial)
            self._name(path)
        except (OSError, ResultError):
            return ""
        return self._kept(self._safe, path)

    @staticmethod
    def _kept(hours: int, path: Path) -> str:
        return f"what was computed, {hours} h, is in {path}"

    def define(
        self,
        system: System,
        materials: Sequence[Material],
        probes: Sequence[PlacedProbe],
        climates: Sequence[str],
        sources: Sequence[tuple[str, str]],
        attributes: Mapping[str, str],
        start: datetime,
    ) -> None:
        """State dimensions, coordinates and attributes; they are written with the first hours, which need not wait.

        ``sources``: group and name of each, see `forcing.air_zones.Giver`.
        """
        self._first = partial(self._define, system, materials, probes, climates, sources, attributes, start)

    def _define(
        self,
        system: System,
        materials: Sequence[Material],
        probes: Sequence[PlacedProbe],
        climates: Sequence[str],
        sources: Sequence[tuple[str, str]],
        attributes: Mapping[str, str],
        start: datetime,
    ) -> None:
        mesh, surfaces = system.network.mesh, system.network.surfaces
        section, file = mesh.section, self.file
        file.dimensions = {
            "time": None, "field_time": None, "y": mesh.y_centres.size, "x": mesh.x_centres.size,
            "y_edge": mesh.y_lines.size, "x_edge": mesh.x_lines.size, "probe": len(probes),
            "surface": len(surfaces), "source": len(sources), "climate": len(climates),
            "region": len(section.regions), "material": len(materials),
        }  # fmt: skip
        since = f"hours since {start:%Y-%m-%d %H:%M:%S}"
        for name in ("time", "field_time"):
            self._variable(name, (name,), "f8", since, "end of the hour, local standard time")
            file[name].attrs["calendar"] = "standard"
        for name, values in (("x", mesh.x_centres), ("y", mesh.y_centres)):
            self._coordinate(name, (name,), values, "m")
        self._coordinate("x_edge", ("x_edge",), mesh.x_lines, "m")
        self._coordinate("y_edge", ("y_edge",), mesh.y_lines, "m")
        self._coordinate("cell_region", ("y", "x"), mesh.region, "1")
        self._coordinate("cell_material", ("y", "x"), mesh.material, "1")
        self._texts("region", [r.name for r in section.regions])
        self._texts("material", [m.id for m in materials])
        self._texts("material_name", [m.name for m in materials], "material")
        self._texts("climate", climates)
        self._probes(system, materials, probes)
        self._texts("surface", [s.name for s in surfaces])
        self._texts("surface_climate", [s.climate or "ground" for s in surfaces], "surface")
        self._texts("surface_group", [s.booked for s in surfaces], "surface")
        self._coordinate("surface_inner", ("surface",), np.array([s.inner for s in surfaces], dtype=np.int8), "1")
        self._texts("source", [name for _, name in sources])
        self._texts("source_group", [group for group, _ in sources], "source")
        regions = [section.regions[s.region].name if s.region >= 0 else "air" for s in surfaces]
        self._texts("surface_region", regions, "surface")
        self._texts("surface_facing", [s.facing for s in surfaces], "surface")
        self._coordinate("surface_length", ("surface",), np.array([s.length for s in surfaces]), "m")
        for name, axis, units, text in SERIES:
            self._variable(name, ("time", axis) if axis else ("time",), "f8", units, text)
        for name, units, text in FIELDS:
            self._variable(name, ("field_time", "y", "x"), "f4", units, text)
        self._attributes(attributes, start)

    def hour(self, time: float, rows: Mapping[str, Any]) -> None:
        """Append one hour; ``time`` in hours since the start.

        Raises
        ------
        OutputError
            If what is kept in memory cannot be written.
        KeyboardInterrupt
            If an interruption was held back.
        """
        self._rows.append((time, rows))
        self.interrupts.look()
        if len(self._rows) >= CHUNK:
            with self.interrupts.held_back():
                self.flush()

    def fields(self, time: float, fields: Sequence[Floats]) -> None:
        """Append one set of fields (temperature, humidity, water and ice content)."""
        self._waiting.append((time, [np.array(values, dtype=np.float32) for values in fields]))

    def flush(self) -> None:
        """Write what is kept in memory, the definition, fields and hours: what is on disk then is a result by itself.

        Raises
        ------
        OutputError
            If it cannot be written.
        """
        self._append()
        self.file.flush()
        self._hdf.flush()
        try:
            self._staged.commit()
        except OSError as error:
            raise cannot_write(self.path, error) from error
        self._safe = self._hours

    def _append(self) -> None:
        """Give HDF5 what is kept in memory."""
        if self._first is not None:
            self._first()
            self._first = None
        for time, fields in self._waiting:
            n = self._fields
            self.file.resize_dimension("field_time", n + 1)
            self.file["field_time"][n] = time
            for (name, *_), values in zip(FIELDS, fields, strict=True):
                self.file[name][n] = values
            self._fields = n + 1
        self._waiting.clear()
        if not self._rows:
            return
        a, b = self._hours, self._hours + len(self._rows)
        self.file.resize_dimension("time", b)
        self.file["time"][a:b] = np.array([time for time, _ in self._rows])
        for name, *_ in SERIES:
            self.file[name][a:b] = np.array([row[name] for _, row in self._rows])
        self._rows.clear()
        self._hours = b
        self.file.attrs["hour"] = b

    def finish(self, statistics: Statistics, attributes: Mapping[str, float | str]) -> None:
        """Attributes known only at the end: what the integration did, and balances."""
        for name in (
            "steps", "substeps", "updates", "jacobians", "linear_iterations", "rejected_error", "rejected_newton",
            "steps_at_floor", "unbalanced_steps",
        ):  # fmt: skip
            self.file.attrs[f"integrator_{name}"] = int(getattr(statistics, name))
        self.file.attrs["integrator_max_residual"] = float(statistics.max_residual)
        self.file.attrs["integrator_worst_error"] = float(statistics.worst_error)
        for name, value in attributes.items():
            self.file.attrs[name] = value

    def _probes(self, system: System, materials: Sequence[Material], probes: Sequence[PlacedProbe]) -> None:
        section, network = system.network.mesh.section, system.network
        self._texts("probe", [p.probe.name for p in probes])
        owners = [materials[network.scv_material[p.scv]] for p in probes]
        regions = [section.regions[network.scv_region[p.scv]].name for p in probes]
        self._texts("probe_kind", [p.probe.kind for p in probes], "probe")
        self._texts("probe_mould_class", [p.probe.mould_class or "" for p in probes], "probe")
        self._texts("probe_note", [p.probe.note for p in probes], "probe")
        self._texts("probe_region", [p.probe.region or r for p, r in zip(probes, regions, strict=True)], "probe")
        self._texts("probe_material", [m.id for m in owners], "probe")
        self._coordinate("probe_density", ("probe",), np.array([m.density for m in owners], dtype=float), "kg m-3")
        self._coordinate("probe_x", ("probe",), np.array([p.probe.x for p in probes], dtype=float), "m")
        self._coordinate("probe_y", ("probe",), np.array([p.probe.y for p in probes], dtype=float), "m")

    def _attributes(self, attributes: Mapping[str, str], start: datetime) -> None:
        attrs = self.file.attrs
        attrs["Conventions"] = "CF-1.11"
        attrs["source"] = "stemwall, two-dimensional transient heat and moisture transport"
        attrs["history"] = f"{datetime.now(UTC):%Y-%m-%dT%H:%M:%SZ} computed"
        attrs["start"] = start.isoformat()
        attrs["versions"] = json.dumps(versions())
        # what a run that is killed leaves
        attrs[COMPLETED], attrs["reason"], attrs["hour"] = "failed", "it was killed, or its disk was full", 0
        for name, value in attributes.items():
            attrs[name] = value

    def _variable(self, name: str, dims: tuple[str, ...], dtype: str, units: str, text: str) -> None:
        chunks = None
        options: dict[str, Any] = {}
        if dims[0] in ("time", "field_time"):
            sizes = [max(1, self.file.dimensions[d].size) for d in dims[1:]]
            chunks = (1 if dims[0] == "field_time" and len(dims) > 1 else CHUNK, *sizes)
            options = {"compression": "gzip", "compression_opts": 3, "shuffle": True} if len(dims) > 1 else {}
        variable = self.file.create_variable(name, dims, dtype, chunks=chunks, **options)
        variable.attrs["units"] = units
        variable.attrs["long_name"] = text

    def _coordinate(self, name: str, dims: tuple[str, ...], values: NDArray[Any], units: str) -> None:
        variable = self.file.create_variable(name, dims, values.dtype, data=values)
        variable.attrs["units"] = units

    def _texts(self, name: str, values: Sequence[str], dim: str | None = None) -> None:
        data = np.array(list(values), dtype=object)
        self.file.create_variable(name, (dim or name,), h5py.string_dtype(), data=data)
