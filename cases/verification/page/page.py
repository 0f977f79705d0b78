"""A page of the verification: one self-contained HTML file, and the same numbers as JSON."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Sequence
from html import escape
from pathlib import Path

from stemwall.cases.verification.comparison import (
    ABOVE,
    BELOW,
    EXCESS,
    FACTOR,
    LARGEST,
    RELATIVE,
    SHORTFALL,
    Comparison,
)
from stemwall.cases.verification.page.figures import figures
from stemwall.cases.verification.page.open_items import OPEN, unread
from stemwall.cases.verification.page.record import definition, record
from stemwall.cases.verification.page.record import versions as used
from stemwall.cases.verification.page.style import STYLE
from stemwall.cases.verification.suite import Case, Outcome, run_outcomes
from stemwall.solver.results.output_places import write_whole

#: comparisons of no more points show their values in the table
FEW = 2
NORMS = {
    LARGEST: "|computed − expected|, in the unit of the quantity",
    RELATIVE: "|computed − expected| / |expected|",
    FACTOR: "computed / expected or its reciprocal, whichever is above 1",
    SHORTFALL: "expected − computed where that is positive: what is expected is a lower bound",
    EXCESS: "computed − expected where that is positive: what is expected is an upper bound",
    ABOVE: "computed − expected, at least the limit: the first of two runs must give the larger value",
    BELOW: "expected − computed, at least the limit: the first of two runs must give the smaller value",
}
_SHORT = {
    LARGEST: "difference", RELATIVE: "relative", FACTOR: "factor", SHORTFALL: "shortfall", EXCESS: "excess",
    ABOVE: "above", BELOW: "below",
}  # fmt: skip

_RECALLED = (
    "Closed forms and independent computations on this page follow from the definitions stated with them; "
    "that these are the definitions of the works named was not re-read for:"
)


def html(outcomes: Sequence[Outcome]) -> str:
    """The page as text."""
    groups = dict.fromkeys(o.case.group for o in outcomes)
    sections = "".join(
        f"<h2>{escape(group)}</h2>" + "".join(_section(o) for o in outcomes if o.case.group == group)
        for group in groups
    )
    return (
        "<!doctype html><html lang='en'><head><meta charset='utf-8'><meta name='viewport' "
        "content='width=device-width'><title>stemwall – verification</title>"
        f"<style>{STYLE}</style></head><body><h1>Verification</h1>"
        f"{_opening(outcomes)}{_summary(outcomes)}{sections}{_unconfirmed(outcomes)}</body></html>\n"
    )


def _opening(outcomes: Sequence[Outcome]) -> str:
    comparisons = [c for o in outcomes for c in o.comparisons]
    held, missing = sum(c.holds for c in comparisons), sum(bool(o.missing) for o in outcomes)
    not_run = f"; {missing} {'case was' if missing == 1 else 'cases were'} not run" if missing else ""
    norms = "".join(
        f"<dt>{escape(_SHORT[norm])}</dt><dd>{escape(meaning)}</dd>"
        for norm, meaning in NORMS.items()
        if any(c.norm == norm for c in comparisons)
    )
    run = len(outcomes) - missing
    versions = ", ".join(f"{name} {number}" for name, number in used().items())
    return (
        f"<p class='lead'>{held} of {len(comparisons)} comparisons in {run} cases hold{not_run}.</p>"
        "<p>Each case states what is solved, what it is compared with, the largest and the root mean square error, "
        "the limit that the largest is held to, and whether it holds. In the figures lines are what is expected "
        "and marks what is computed; below them is their difference. "
        "All values are in the JSON file beside this page.</p>"
        f"<dl>{norms}</dl><p class='soft'>{escape(versions)}</p>"
    )


def _summary(outcomes: Sequence[Outcome]) -> str:
    rows, group = [], ""
    for o in outcomes:
        if o.case.group != group:
            group = o.case.group
            rows.append(f"<tr class='group'><th colspan='7'>{escape(group)}</th></tr>")
        rows.append(_summary_row(o))
    return (
        "<table><thead><tr><th>Case</th><th>Nearest to its limit</th><th class='n'>Error</th><th class='n'>Limit</th>"
        "<th class='n'>Share</th><th class='n'>Order</th><th></th></tr></thead><tbody>"
        f"{''.join(rows)}</tbody></table>"
        "<p class='soft'>° a source of the case is recalled or second-hand and was not re-read, see "
        "<a href='#unconfirmed'>what could not be confirmed</a>. "
        "Share: error over limit. Order: lowest observed order of convergence, and that of the scheme.</p>"
    )


def _summary_row(o: Outcome) -> str:
    name = _link(o.case)
    worst = o.nearest
    if worst is None:
        why = f"<td colspan='5' class='none'>{escape(o.missing)}</td>"
        return f"<tr><td>{name}</td>{why}<td>{_word(o.verdict)}</td></tr>"
    mark = " °" if unread(o.comparisons) else ""
    studies = [c.refinement for c in o.comparisons if c.refinement is not None]
    order = f"{min(s.orders.min() for s in studies):.2f} ({studies[0].design:g})" if studies else ""
    return (
        f"<tr><td>{name}{mark}</td><td>{escape(worst.quantity)}, {_SHORT[worst.norm]}</td>"
        f"<td class='n'>{_number(worst.error)}</td><td class='n'>{_number(worst.limit)}</td>"
        f"<td class='n'>{_percent(worst.share)}</td><td class='n'>{order}</td><td>{_word(o.verdict)}</td></tr>"
    )


def _link(case: Case) -> str:
    return f"<a href='#{escape(case.id)}'>{escape(case.title)}</a>"


def _unconfirmed(outcomes: Sequence[Outcome]) -> str:
    """What stands on memory or second hand, with the cases that use it, and what is not there at all."""
    uses: dict[str, list[Case]] = {}
    for o in outcomes:
        for source in unread(o.comparisons):
            uses.setdefault(source, []).append(o.case)
    items = "".join(
        f"<li>{escape(source)} – {', '.join(_link(case) for case in cases)}</li>" for source, cases in uses.items()
    )
    missing = "".join(f"<li>{escape(o.case.title)}: {escape(o.missing)}</li>" for o in outcomes if o.missing)
    return (
        "<h2 id='unconfirmed'>What could not be confirmed</h2>"
        + (f"<p>{_RECALLED}</p><ul class='soft two'>{items}</ul>" if items else "")
        + (f"<p>Not run here:</p><ul class='soft'>{missing}</ul>" if missing else "")
        + f"<p>Not there:</p><ul class='soft'>{''.join(f'<li>{escape(text)}</li>' for text in OPEN)}</ul>"
    )


def _section(o: Outcome) -> str:
    head = f"<section><h3 id='{escape(o.case.id)}'>{escape(o.case.title)} {_word(o.verdict)}</h3>{_definition(o.case)}"
    if o.case.known:
        head += f"<p class='bad'>Known not to hold: {escape(o.case.known)}.</p>"
    if o.missing:
        return f"{head}<p class='none'>Not run: {escape(o.missing)}.</p></section>"
    sources = list(dict.fromkeys(c.source for c in o.comparisons))
    listed = "".join(f"<li>[{k}] {escape(source)}</li>" for k, source in enumerate(sources, 1))
    marks = _marks(o.comparisons)
    listed += "".join(f"<li>({mark}) {escape(note)}</li>" for note, mark in marks.items())
    rows = "".join(_row(c, sources.index(c.source) + 1, marks.get(c.note, "")) for c in o.comparisons)
    drawn = figures(o.comparisons, sources)
    return (
        f"{head}<ol class='sources'>{listed}</ol>"
        "<table><thead><tr><th>Run</th><th>Quantity</th><th class='n'>Computed</th><th class='n'>Expected</th>"
        "<th>Norm</th><th class='n'>Largest</th><th class='n'>RMS</th><th class='n'>Limit</th><th></th></tr></thead>"
        f"<tbody>{rows}</tbody></table>"
        + (f"<div class='figures'>{drawn}</div>" if drawn else "")
        + f"<p class='soft'>Computed in {o.seconds:.1f} s.</p></section>"
    )


def _definition(case: Case) -> str:
    return "".join(f"<p>{escape(text)}</p>" for text in definition(case))


def _marks(comparisons: Sequence[Comparison]) -> dict[str, str]:
    """Letters for the notes that several comparisons share: those are stated once, above the table."""
    notes = [c.note for c in comparisons if c.note]
    shared = [note for note in dict.fromkeys(notes) if notes.count(note) > 1]
    return {note: chr(ord("a") + k) for k, note in enumerate(shared)}


def _row(c: Comparison, source: int, mark: str) -> str:
    small = "".join(
        f"<small>{escape(text)}</small>"
        for text in (
            "" if mark else c.note,
            *(f"{key}: {_number(value, whole=True)}" for key, value in c.extra.items()),
        )
        if text
    )
    if c.points.size <= FEW:
        values = tuple("<br>".join(_number(v, 5) for v in vs) for vs in (c.computed, c.expected))
    elif c.refinement is not None:
        values = tuple("<br>".join(f"{v:.2f}" for v in vs) for vs in (c.computed, c.expected))
    else:
        values = (f"{c.points.size} points", "")
    return (
        f"<tr><td>{escape(c.name)} [{source}]{f' ({mark})' if mark else ''}{small}</td><td>{escape(c.quantity)}</td>"
        f"<td class='n'>{values[0]}</td><td class='n'>{values[1]}</td><td>{_SHORT[c.norm]}</td>"
        f"<td class='n'>{_number(c.error)}</td><td class='n'>{_number(c.rms)}</td><td class='n'>{_number(c.limit)}</td>"
        f"<td>{_word('holds' if c.holds else 'does not hold')}</td></tr>"
    )


def _word(verdict: str) -> str:
    kind = {"holds": "good", "does not hold": "bad", "known not to hold": "bad"}.get(verdict, "none")
    return f'<span class="word {kind}">{verdict}</span>'


def _number(value: float, digits: int = 3, *, whole: bool = False) -> str:
    if whole and value == round(value) and abs(value) < 1e6:
        return f"{value:.0f}"
    return f"{value:.{digits}g}".replace("-", "−") if math.isfinite(value) else "–"


def _percent(share: float) -> str:
    if not math.isfinite(share):
        return "–"
    return f"{100 * share:.0f} %" if share >= 0.005 else "&lt; 1 %"


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
    write_whole(out, html(outcomes))
    text = json.dumps(record(outcomes), ensure_ascii=False, indent=1, allow_nan=False)
    write_whole(out.with_suffix(".json"), text + "\n")
    return out
