"""The verification as a record: definitions, versions and all numbers, ready for JSON."""

from __future__ import annotations

import inspect
import math
import platform
from collections.abc import Sequence
from importlib.metadata import PackageNotFoundError, version
from typing import Any

from stemwall.cases.verification.comparison import Comparison
from stemwall.cases.verification.suite import Case, Outcome


def definition(case: Case) -> list[str]:
    """Paragraphs of what a case solves, from the words beside the code that runs it."""
    text = (inspect.getdoc(case.run) or "").replace("degC", "°C")
    return [" ".join(paragraph.split()) for paragraph in text.split("\n\n") if paragraph.strip()]


def versions() -> dict[str, str]:
    """Return versions of what a result depends on."""
    found = {"Python": platform.python_version()}
    for name in ("stemwall", "numpy", "scipy", "numba", "pvlib", "psychrolib", "iapws", "scikit-fem"):
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            found[name] = "not installed"
    return found


def _finite(values: Sequence[float]) -> list[float | None]:
    return [float(v) if math.isfinite(v) else None for v in values]


def record(outcomes: Sequence[Outcome]) -> dict[str, Any]:
    """All numbers, ready for JSON; what is not finite is null."""
    return {"versions": versions(), "cases": [_case_record(o) for o in outcomes]}


def _case_record(o: Outcome) -> dict[str, Any]:
    return {
        "id": o.case.id,
        "title": o.case.title,
        "group": o.case.group,
        "definition": definition(o.case),
        "verdict": o.verdict,
        "holds": None if o.missing else o.holds,
        "known": o.case.known,
        "missing": o.missing,
        "seconds": round(o.seconds, 2),
        "comparisons": [_comparison_record(c) for c in o.comparisons],
    }


def _comparison_record(c: Comparison) -> dict[str, Any]:
    study = c.refinement
    return {
        "name": c.name,
        "source": c.source,
        "quantity": c.quantity,
        "axis": c.axis,
        "norm": c.norm,
        "error": _finite([c.error])[0],
        "rms": _finite([c.rms])[0],
        "limit": c.limit,
        "holds": c.holds,
        "note": c.note,
        "extra": {key: _finite([value])[0] for key, value in c.extra.items()},
        "points": _finite(c.points.tolist()),
        "labels": list(c.labels),
        "computed": _finite(c.computed.tolist()),
        "expected": _finite(c.expected.tolist()),
        "refinement": study and {
            "what": study.what,
            "counts": _finite(study.counts.tolist()),
            "errors": _finite(study.errors.tolist()),
            "unit": study.unit,
            "orders": _finite(study.orders.tolist()),
            "design": study.design,
        },
    }  # fmt: skip
