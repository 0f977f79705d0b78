"""Comparisons judge as they say, and the page shows what was compared."""

import json
from io import StringIO

import numpy as np
import pytest
from rich.console import Console

from stemwall.cases.verification.comparison import EXCESS, FACTOR, RELATIVE, SHORTFALL, NotRun, Refinement, compare
from stemwall.cases.verification.page.figures import figures, labels_of, short_names
from stemwall.cases.verification.page.page import definition, html, record, write_page
from stemwall.cases.verification.page.progress import table
from stemwall.cases.verification.suite import CASES, Case, Outcome, run_case, run_outcomes


@pytest.mark.parametrize(
    ("norm", "computed", "expected", "error"),
    [
        ("largest difference", [1.0, 2.5], [1.0, 2.0], 0.5),
        (RELATIVE, [1.1, 2.0], [1.0, 2.0], 0.1),
        (SHORTFALL, [2.2, 1.9], [2.0, 2.0], 0.1),
        (EXCESS, [2.2, 1.9], [2.0, 2.0], 0.2),
        (FACTOR, [1.0, 1.0], [2.0, 0.8], 2.0),
    ],
)
def test_norms(norm, computed, expected, error):
    found = compare("a", "b", "c", [0, 1], computed, expected, error * 1.001, norm)
    assert found.error == pytest.approx(error)
    assert found.holds
    assert not compare("a", "b", "c", [0, 1], computed, expected, error * 0.999, norm).holds


@pytest.mark.parametrize("norm", ["largest difference", RELATIVE, SHORTFALL, EXCESS, FACTOR])
def test_what_is_no_number_does_not_hold(norm):
    assert not compare("a", "b", "c", [0, 1], [1.0, np.nan], [1.0, 1.0], 1e9, norm).holds


def test_lengths_must_agree():
    with pytest.raises(ValueError, match="3 points, 2 computed, 2 expected"):
        compare("a", "b", "c", [0, 1, 2], [1, 2], [1, 2], 1.0)


def _pair(limit):
    """A comparison off by a quarter."""
    return [compare("a <run>", "a & b", "heat [W]", range(5), np.arange(5) + 0.25, np.arange(5), limit)]


def test_page_and_record(tmp_path):
    cases = (
        Case("good", "The good", "First", lambda: _pair(0.5)),
        Case("bad", "The bad", "Second", lambda: _pair(0.1)),
    )
    told = []
    out = write_page(tmp_path / "deep" / "page.html", run_outcomes(told.append, cases))
    page, record = out.read_text(), json.loads(out.with_suffix(".json").read_text())
    assert "1 of 2 comparisons in 2 cases hold" in page
    assert "a &lt;run&gt;" in page
    assert "a &amp; b" in page
    assert page.count("<svg") == 2
    assert "http" not in page.replace("http://www.w3.org", "").replace("http://purl.org", "").replace(
        "http://creativecommons.org", ""
    )
    assert [case["holds"] for case in record["cases"]] == [True, False]
    assert record["cases"][0]["comparisons"][0]["computed"] == [0.25, 1.25, 2.25, 3.25, 4.25]
    assert "The good: holds" in told[0]
    assert "The bad: DOES NOT HOLD" in told[1]


def test_a_case_holds_only_if_all_its_comparisons_do():
    mixed = Case("mixed", "Mixed", "First", lambda: _pair(0.5) + _pair(0.1))
    assert not run_case(mixed).holds


def _missing():
    """What needs a library.

    A second paragraph.
    """
    raise NotRun("no such library")


def test_what_cannot_be_run_is_neither_held_nor_missed(tmp_path):
    cases = (Case("good", "The good", "First", lambda: _pair(0.5)), Case("gone", "The gone", "First", _missing))
    told = []
    outcomes = run_outcomes(told.append, cases)
    assert [o.verdict for o in outcomes] == ["holds", "not run"]
    assert "The gone: not run" in told[1]
    out = write_page(tmp_path / "page.html", outcomes)
    page, record = out.read_text(), json.loads(out.with_suffix(".json").read_text())
    assert "1 of 1 comparisons in 1 cases hold; 1 case was not run" in page
    assert page.count("no such library") == 3
    assert record["cases"][1]["holds"] is None
    assert record["cases"][1]["definition"] == ["What needs a library.", "A second paragraph."]
    console = Console(file=StringIO(), width=120)
    console.print(table(outcomes))
    assert "1 of 1 cases hold, 1 not run" in console.file.getvalue()


def test_what_is_known_not_to_hold_is_shown_with_its_reason_and_fails_nobody(tmp_path):
    cases = tuple(
        Case(name, name, "First", lambda limit=limit: _pair(limit), known=known)
        for name, limit, known in (("known", 0.1, "a wave <too> large"), ("mended", 0.5, "old"), ("new", 0.1, ""))
    )
    told = []
    outcomes = run_outcomes(told.append, cases)
    assert [o.verdict for o in outcomes] == ["known not to hold", "holds", "does not hold"]
    assert [o.failed for o in outcomes] == [False, False, True]
    assert "KNOWN NOT TO HOLD" in told[0]
    out = write_page(tmp_path / "page.html", outcomes)
    page, record = out.read_text(), json.loads(out.with_suffix(".json").read_text())
    assert "1 of 3 comparisons in 3 cases hold" in page
    assert "Known not to hold: a wave &lt;too&gt; large" in page
    assert (record["cases"][0]["holds"], record["cases"][0]["known"]) == (False, "a wave <too> large")
    console = Console(file=StringIO(), width=120)
    console.print(table(outcomes))
    assert "1 of 3 cases hold, 1 known not to" in console.file.getvalue()


def test_observed_order_is_drawn_and_stated():
    study = Refinement(np.array([5.0, 10.0, 20.0]), np.array([0.32, 0.08, 0.01]), 2.0, "cells", "K")
    np.testing.assert_allclose(study.orders, [2.0, 3.0])
    c = compare("a", "b", "order [-]", [10, 20], study.orders, [2, 2], 0.1, SHORTFALL, refinement=study)
    outcome = Outcome(Case("c", "Case", "First", lambda: [c]), (c,), 0.0)
    page = html([outcome])
    assert "2.00 (2)" in page
    assert page.count("<svg") == 1
    assert record([outcome])["cases"][0]["comparisons"][0]["refinement"]["orders"] == pytest.approx([2.0, 3.0])


def test_recalled_sources_are_listed_with_their_cases():
    sources = {"a": "Book (from memory)", "b": "closed form"}
    runs = [compare(name, source, "q", 0, 1, 1, 1.0) for name, source in sources.items()]
    page = html([Outcome(Case(c.name, f"Case {c.name}", "First", list), (c,), 0.0) for c in runs])
    listed = page.partition("What could not be confirmed</h2>")[2]
    assert "Book (from memory) – <a href='#a'>Case a</a>" in listed
    assert "closed form" not in listed
    assert page.count("</a> °") == 1


def test_runs_of_a_quantity_share_a_figure():
    runs = [compare(f"Wall, Fo = {k}, lying", "s", "q", range(4), range(4), range(4), 1.0) for k in range(8)]
    assert figures(runs, ["s"]).count("<svg") == 2
    assert short_names(runs) == ("Wall", [f"Fo = {k}, lying" for k in range(8)])
    drawn = figures([runs[0], compare("x", "t", "q", range(4), range(4), range(4), 1.0)], ["s", "t"])
    assert "Wall, Fo = 0, lying [1]" in drawn
    assert "x [2]" in drawn


def test_numbered_places_are_names():
    c = compare("a", "s", "q", [1, 2], [1, 2], [1, 2], 1.0, axis="1 centre, 2 long face")
    assert labels_of(c) == ("centre", "long face")
    assert labels_of(compare("a", "s", "q", [1, 2], [1, 2], [1, 2], 1.0)) == ()
    with pytest.raises(ValueError, match="2 points, 1 labels"):
        compare("a", "s", "q", [1, 2], [1, 2], [1, 2], 1.0, labels=("one",))


def test_every_case_says_what_it_solves():
    assert [case.id for case in CASES if not definition(case)] == []
