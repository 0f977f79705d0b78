"""The table of a set: one row per run and place, with the values that tell the runs apart and the main indicators.

The table is written as results arrive, a failed run has one row without a place.  A row is told to belong to a
result by the hash of the run's input, so that a set that goes on keeps the rows of what is done.
"""

from __future__ import annotations

import csv
import io
import json
import math
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from stemwall.cases.case_file.sweep import label
from stemwall.cases.inputs.csv_cells import as_given, plain
from stemwall.solver.results.output_places import cannot_write, write_whole

Row = dict[str, Any]

#: what every row begins with, and what it means
RUN_COLUMNS = {
    "run": "name of the variant",
    "input": "hash of everything that the run was made from",
    "status": "done or failed",
    "file": "name of the result file",
}
#: of the place
PLACE_COLUMNS = {
    "place": "name of the probe",
    "kind": "what lies there",
    "mould class": "sensitivity of the face to mould",
    "limits missed": "ids of the criteria that do not hold",
}
RUN, PLACE = tuple(RUN_COLUMNS), tuple(PLACE_COLUMNS)
#: numbers of `stemwall.solver.assessment.indicators`, over the whole run; some are for wood only
INDICATORS = (
    "lowest temperature [degC]",
    "highest temperature [degC]",
    "lowest relative humidity [-]",
    "highest relative humidity [-]",
    "highest water content [kg/m3]",
    "above 80 % [h]",
    "time of wetness [h/a]",
    "longest wet spell [h]",
    "largest mould dose [d]",
    "below 0 degC [h]",
    "frost cycles at 0 degC [-]",
    "highest moisture content [% dry mass]",
    "above 20 % dry mass [d]",
    "highest moisture content, mean of the piece [% dry mass]",
    "above 20 % dry mass, mean of the piece [d]",
    "decay mass loss [%]",
)
#: worst mould index for the place's own class, over the whole run and its last 12 months
MOULD = ("mould index [-]", "mould index, last 12 months [-]")
DONE, FAILED = "done", "failed"
#: letters of the hash of the input that a row carries
HASH = 16


def rows_of(path: Path) -> list[Row]:
    """Return one row per place of a result, without what tells the run.

    Raises
    ------
    ResultError
        If the file is no result, or a damaged one.
    """
    from stemwall.solver.assessment.indicators import indicators
    from stemwall.solver.assessment.mould import sensitivity
    from stemwall.solver.assessment.probe_series import series_of
    from stemwall.solver.assessment.verdicts import assess_probe
    from stemwall.solver.results.stored_result import read_result

    dataset = read_result(path, along="probe")
    rows: list[Row] = []
    for name in dataset["probe"].values:
        series = series_of(dataset, str(name))
        verdicts, found = assess_probe(series), indicators(series)
        missed = dict.fromkeys(verdict.criterion.id for verdict in verdicts if verdict.holds is False)
        own = sensitivity(series.mould_class).name if series.mould_class else ""
        index = {
            verdict.period: verdict.value
            for verdict in verdicts
            if verdict.criterion.id == "mould-index" and verdict.variant == own
        }
        rows.append(
            {
                "place": series.name,
                "kind": series.kind,
                "mould class": series.mould_class or "",
                "limits missed": " ".join(missed),
                **dict(zip(MOULD, (index.get("whole run"), index.get("last 12 months")), strict=True)),
                **{key: found.get(key) for key in INDICATORS},
            }
        )
    return rows


class SetTable:
    """A CSV file that grows by the rows of each run, and is put in order at the end.

    Parameters
    ----------
    path : Path
        The file.
    paths : sequence of str
        Dotted paths that the runs change, a column each.
    """

    def __init__(self, path: Path, paths: Sequence[str]) -> None:
        self.path = path
        self.columns = [*RUN, *paths, *PLACE, *MOULD, *INDICATORS]
        self._rows: dict[str, list[Row]] = {}

    def kept(self, inputs: Mapping[str, str]) -> set[str]:
        """Take over the rows that an earlier table has for these runs, by name and hash of the input.

        Returns
        -------
        set of str
            Names of the runs whose rows were found.
        """
        try:
            with self.path.open(newline="", encoding="utf-8") as file:
                reader = csv.DictReader(file)
                if list(map(as_given, reader.fieldnames or ())) != self.columns:
                    return set()
                for cells in reader:
                    row = dict(zip(self.columns, (as_given(cell or "") for cell in cells.values()), strict=True))
                    if row["status"] == DONE and inputs.get(row["run"], "")[:HASH] == row["input"] != "":
                        self._rows.setdefault(row["run"], []).append(row)
        except (OSError, ValueError, csv.Error):
            self._rows.clear()
        return set(self._rows)

    def begin(self) -> None:
        """Write the heading and the rows taken over.

        Raises
        ------
        OutputError
            If the table cannot be written; so do `add` and `end`.
        """
        self._write(self._rows)

    def add(self, name: str, told: Row, change: Mapping[str, Any], places: Iterable[Row]) -> None:
        """Append the rows of one run.

        Parameters
        ----------
        name : str
            Name of the run.
        told : Row
            The columns of `RUN` but for the name.
        change : mapping
            Values by dotted path.
        places : iterable of Row
            See `rows_of`; a run without any has one row.
        """
        first = {"run": name, **told, "input": told["input"][:HASH], **{key: _cell(v) for key, v in change.items()}}
        self._rows[name] = [{**first, **place} for place in places] or [first]
        try:
            with self.path.open("a", newline="", encoding="utf-8") as file:
                csv.writer(file).writerows(map(self._cells, self._rows[name]))
        except OSError as error:
            raise cannot_write(self.path, error) from error

    def end(self, names: Sequence[str]) -> None:
        """Write the rows again in the order of the runs."""
        self._write({name: self._rows[name] for name in names if name in self._rows})

    def _write(self, rows: Mapping[str, Iterable[Row]]) -> None:
        """Write a whole table beside the file and put it in its place."""
        text = io.StringIO(newline="")
        writer = csv.writer(text)
        writer.writerow(map(plain, self.columns))
        for group in rows.values():
            writer.writerows(map(self._cells, group))
        write_whole(self.path, text.getvalue())

    def _cells(self, row: Row) -> list[object]:
        """Return the cells of a row: numbers in eight digits, and nothing where there is no number."""
        return [_shown(row.get(column)) for column in self.columns]


def _cell(value: object) -> object:
    """Return a changed value as it stands in a cell; a table or list as JSON."""
    return json.dumps(value, ensure_ascii=False, default=str) if isinstance(value, dict | list) else label(value)


def _shown(value: object) -> object:
    if isinstance(value, float):
        return "" if math.isnan(value) else f"{value:.8g}"
    return plain(value)
