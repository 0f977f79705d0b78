"""What tells one run from another: a hash of all its input, kept in the result so that a set can go on."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from stemwall.cases.case_file.case import Case
from stemwall.cases.setup.build import Setup

#: attributes of a result
INPUT, CHANGE = "input_sha256", "variant_change"


def identified(setup: Setup) -> Setup:
    """Return a set-up, as it was built, that will record the hash of its input and the changes of its variant."""
    recorded = {INPUT: input_hash(setup), CHANGE: json.dumps(setup.case.change, ensure_ascii=False, default=str)}
    return replace(setup, provenance={**setup.provenance, **recorded})


def input_hash(setup: Setup) -> str:
    """Return the hash of all that a result depends on: the case as validated, the files it names, the program."""
    case = setup.case
    stated = case.model_dump()
    files = {name: _file_hash(case, name) for name in _files(stated)}
    weather = setup.provenance.get("weather_sha256", "")
    text = json.dumps([stated, weather, files, program_version()], sort_keys=True, default=repr)
    return hashlib.sha256(text.encode()).hexdigest()


def recorded_input(path: Path) -> str:
    """Return the hash that a complete result records, empty if there is no such result.

    Raises
    ------
    ResultError
        If a file is there that is no result, or a damaged one.
    """
    from stemwall.solver.results.stored_result import complete_attribute

    return complete_attribute(path, INPUT) if path.exists() else ""


def _files(stated: object) -> Iterator[str]:
    """Names of all files that a case refers to."""
    if isinstance(stated, Mapping):
        for key, value in stated.items():
            if key == "file" and isinstance(value, str):
                yield value
            yield from _files(value)
    elif isinstance(stated, Sequence) and not isinstance(stated, str):
        for item in stated:
            yield from _files(item)


def _file_hash(case: Case, name: str) -> str:
    path = case.folder / name
    return hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else ""


def program_version() -> str:
    """Return the version of stemwall, empty if it is not installed."""
    try:
        return version("stemwall")
    except PackageNotFoundError:
        return ""
