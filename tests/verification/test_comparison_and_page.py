"""Comparisons judge as they say, and the page shows what was compared."""

import json

import numpy as np
import pytest

from stemwall.cases.verification.comparison import FACTOR, RELATIVE, SHORTFALL, compare
from stemwall.cases.verification.page import write_page
from stemwall.cases.verification.suite import Case, run_case, run_outcomes


@pytest.mark.parametrize(
    ("norm", "computed", "expected", "error"),
    [
        ("largest difference", [1.0, 2.5], [1.0, 2.0], 0.5),
        (RELATIVE, [1.1, 2.0], [1.0, 2.0], 0.1),
        (SHORTFALL, [2.2, 1.9], [2.0, 2.0], 0.1),
        (FACTOR, [1.0, 1.0], [2.0, 0.8], 2.0),
    ],
)
def test_norms(norm, computed, expected, error):
    found = compare("a", "b", "c", [0, 1], computed, expected, error * 1.001, norm)
    assert found.error == pytest.approx(error)
    assert found.holds
    assert not compare("a", "b", "c", [0, 1], computed, expected, error * 0.999, norm).holds


@pytest.mark.parametrize("norm", ["largest difference", RELATIVE, SHORTFALL, FACTOR])
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
