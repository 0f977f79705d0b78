"""A page of the verification: one self-contained HTML file, and the same numbers as JSON."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Sequence
from html import escape
from io import StringIO
from pathlib import Path
from typing import Any

import matplotlib
import numpy as np
from matplotlib.figure import Figure

from stemwall.cases.verification.comparison import Comparison
from stemwall.cases.verification.suite import Outcome, run_outcomes

#: comparisons with fewer points are given as numbers only
FEWEST_POINTS = 4

STYLE = """
:root { --ink: #1d2529; --soft: #5c686d; --rule: #d5dadc; --paper: #fbfbf9; --good: #2d6a4f; --bad: #a4262c; }
body { font: 15px/1.5 Georgia, 'Times New Roman', serif; color: var(--ink); background: var(--paper);
       max-width: 62rem; margin: 2rem auto; padding: 0 1.2rem; }
h1 { font-size: 1.7rem; font-weight: normal; margin-bottom: .2rem; }
h2 { font-size: 1.25rem; border-bottom: 1px solid var(--rule); margin-top: 2.6rem; font-weight: normal; }
h3 { font-size: 1.05rem; margin: 2rem 0 .3rem; }
table { border-collapse: collapse; width: 100%; font: 13px/1.4 system-ui, sans-serif; }
th { text-align: left; color: var(--soft); font-weight: 600; }
th, td { padding: .25rem .6rem .25rem 0; border-bottom: 1px solid var(--rule); vertical-align: top; }
td.n { font-variant-numeric: tabular-nums; white-space: nowrap; }
.good { color: var(--good); } .bad { color: var(--bad); font-weight: 600; }
.small { color: var(--soft); font-size: 13px; }
.plots { display: flex; flex-wrap: wrap; gap: .6rem; margin-top: .6rem; }
.plots svg { width: 20rem; height: auto; }
"""


def _number(value: float) -> str:
    return f"{value:.3g}" if math.isfinite(value) else "–"


def _word(holds: bool) -> str:
    return f'<span class="{"good" if holds else "bad"}">{"holds" if holds else "does not hold"}</span>'


def plot(comparison: Comparison) -> str:
    """Inline SVG of the two curves, expected as a line and computed as points."""
    c = comparison
    with matplotlib.rc_context({"svg.fonttype": "none", "svg.hashsalt": "verification", "font.size": 8}):
        figure = Figure(figsize=(3.6, 2.4), layout="constrained")
        axes = figure.add_subplot()
        order = np.argsort(c.points, kind="stable")
        axes.plot(c.points[order], c.expected[order], color="#8a9499", lw=1.2, label="expected")
        axes.plot(c.points[order], c.computed[order], "o", ms=3.2, mfc="none", color="#1f5a7a", label="computed")
        axes.set_xlabel(c.axis)
        axes.set_ylabel(c.quantity)
        axes.set_title(c.name, fontsize=8, loc="left", wrap=True)
        axes.spines[["top", "right"]].set_visible(False)
        axes.legend(frameon=False, fontsize=7)
        text = StringIO()
        figure.savefig(text, format="svg", metadata={"Date": None, "Creator": None})
    svg = text.getvalue()
    return svg[svg.index("<svg") :].replace("<svg ", f'<svg role="img" aria-label="{escape(c.name)}" ', 1)


def _row(c: Comparison) -> str:
    extra = "".join(f"<br>{escape(key)}: {_number(value)}" for key, value in c.extra.items())
    note = f"<br>{escape(c.note)}" if c.note else ""
    return (
        f"<tr><td>{escape(c.name)}<br><span class='small'>{escape(c.source)}{note}{extra}</span></td>"
        f"<td>{escape(c.quantity)}</td><td class='n'>{c.points.size}</td><td>{escape(c.norm)}</td>"
        f"<td class='n'>{_number(c.error)}</td><td class='n'>{_number(c.limit)}</td>"
        f"<td>{_word(c.holds)}</td></tr>"
    )


def _section(outcome: Outcome) -> str:
    rows = "".join(_row(c) for c in outcome.comparisons)
    plots = "".join(plot(c) for c in outcome.comparisons if c.points.size >= FEWEST_POINTS)
    return (
        f"<h3 id='{escape(outcome.case.id)}'>{escape(outcome.case.title)} – {_word(outcome.holds)}</h3>"
        f"<p class='small'>{escape(_first_line(outcome.case.run))} Computed in {outcome.seconds:.1f} s.</p>"
        "<table><tr><th>Run and source</th><th>Quantity</th><th>Points</th><th>Norm</th><th>Error</th>"
        f"<th>Limit</th><th></th></tr>{rows}</table><div class='plots'>{plots}</div>"
    )


def _first_line(function: Callable[..., Any]) -> str:
    return (function.__doc__ or "").strip().partition("\n")[0]


def _summary(outcomes: Sequence[Outcome]) -> str:
    rows = []
    for o in outcomes:
        worst = max(o.comparisons, key=_share)
        rows.append(
            f"<tr><td><a href='#{escape(o.case.id)}'>{escape(o.case.title)}</a></td>"
            f"<td>{escape(worst.quantity)}</td>"
            f"<td class='n'>{_number(worst.error)}</td><td class='n'>{_number(worst.limit)}</td>"
            f"<td class='n'>{o.seconds:.1f} s</td><td>{_word(o.holds)}</td></tr>"
        )
    return (
        "<table><tr><th>Case</th><th>Nearest to its limit</th><th>Error</th><th>Limit</th><th>Time</th>"
        "<th></th></tr>"
        f"{''.join(rows)}</table>"
    )


def _share(c: Comparison) -> float:
    """Error as a share of the limit; not a number counts as the worst."""
    share = c.error / c.limit
    return share if math.isfinite(share) else math.inf


def html(outcomes: Sequence[Outcome]) -> str:
    """The page as text."""
    groups = dict.fromkeys(o.case.group for o in outcomes)
    sections = "".join(
        f"<h2>{escape(group)}</h2>" + "".join(_section(o) for o in outcomes if o.case.group == group)
        for group in groups
    )
    comparisons = [c for o in outcomes for c in o.comparisons]
    held = sum(c.holds for c in comparisons)
    return (
        "<!doctype html><html lang='en'><head><meta charset='utf-8'><meta name='viewport' "
        "content='width=device-width'><title>stemwall – verification</title>"
        f"<style>{STYLE}</style></head><body><h1>Verification</h1>"
        f"<p>{held} of {len(comparisons)} comparisons in {len(outcomes)} cases hold. "
        "Each states what it is compared with, the norm of the difference, and the limit it is held to. "
        "“From memory” marks a source recalled and not re-read.</p>"
        f"{_summary(outcomes)}{sections}</body></html>\n"
    )


def _finite(values: Sequence[float]) -> list[float | None]:
    return [float(v) if math.isfinite(v) else None for v in values]


def record(outcomes: Sequence[Outcome]) -> dict[str, Any]:
    """All numbers, ready for JSON; what is not finite is null."""
    return {
        "cases": [
            {
                "id": o.case.id,
                "title": o.case.title,
                "group": o.case.group,
                "holds": o.holds,
                "seconds": round(o.seconds, 2),
                "comparisons": [
                    {
                        "name": c.name,
                        "source": c.source,
                        "quantity": c.quantity,
                        "axis": c.axis,
                        "norm": c.norm,
                        "error": _finite([c.error])[0],
                        "limit": c.limit,
                        "holds": c.holds,
                        "note": c.note,
                        "extra": {key: _finite([value])[0] for key, value in c.extra.items()},
                        "points": _finite(c.points.tolist()),
                        "computed": _finite(c.computed.tolist()),
                        "expected": _finite(c.expected.tolist()),
                    }
                    for c in o.comparisons
                ],
            }
            for o in outcomes
        ]
    }


def write_page(
    out: Path, outcomes: Sequence[Outcome] | None = None, progress: Callable[[str], None] | None = None
) -> Path:
    """Write ``out`` (HTML) and, beside it, the same with the suffix ``.json``.

    Parameters
    ----------
    out : Path
        HTML file; folders are made.
    outcomes : sequence of Outcome, optional
        What was run; by default all cases are run.
    progress : callable, optional
        Told a line after each case that is run.
    """
    outcomes = run_outcomes(progress) if outcomes is None else outcomes
    out.parent.mkdir(parents=True, exist_ok=True)
    out.write_text(html(outcomes), encoding="utf-8")
    text = json.dumps(record(outcomes), ensure_ascii=False, indent=1, allow_nan=False)
    out.with_suffix(".json").write_text(text + "\n", encoding="utf-8")
    return out
