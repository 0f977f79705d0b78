"""Names of results: NAME.nc is always a complete one; what was computed of others lies beside it.

NAME.interrupted.nc is what a run had computed when it was interrupted, NAME.failed.nc when it could not go on or was
killed, NAME.xxxxxxxx.nc.partial what a run is writing now.
"""

from __future__ import annotations

import os
import re
from pathlib import Path

from stemwall.solver.results.output_places import beside
from stemwall.solver.results.staged_file import abandoned
from stemwall.solver.results.stored_result import ResultError, check_result


def interrupted_path(path: Path) -> Path:
    """Return where what an interrupted run computed goes."""
    return beside(path, "interrupted")


def failed_path(path: Path) -> Path:
    """Return where what a failed run computed goes."""
    return beside(path, "failed")


def partials(path: Path) -> list[Path]:
    """Return what runs are writing, or have left, of a result."""
    form = re.compile(re.escape(path.stem) + r"\.[0-9a-f]{8}" + re.escape(path.suffix) + r"\.partial")
    try:
        names = os.listdir(path.parent)
    except OSError:
        return []
    return [path.with_name(name) for name in sorted(names) if form.fullmatch(name)]


def being_written(path: Path) -> bool:
    """Return whether a run is writing a result now; on systems without locks this is never seen."""
    return any(not abandoned(one) and one.exists() for one in partials(path))


def salvage(path: Path) -> None:
    """Keep the last checkpoint of a run that was killed as a failed one; remove what cannot be read."""
    for one in partials(path):
        if not abandoned(one):
            continue
        try:
            check_result(one)
            os.replace(one, failed_path(path))
        except (ResultError, OSError):
            one.unlink(missing_ok=True)


def clear(path: Path) -> None:
    """Remove what lies beside a result that is complete now."""
    for one in (interrupted_path(path), failed_path(path), *filter(abandoned, partials(path))):
        one.unlink(missing_ok=True)
