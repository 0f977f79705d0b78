"""Cells of CSV files: no formula, numbers as they are, and read back as they were given."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stemwall.cases.inputs.csv_cells import as_given, plain

texts = st.text(st.sampled_from("'=+-@\t\r\n＝1e.x ")) | st.text()


@given(texts)
def test_a_text_is_read_back_as_it_was_given(text: str) -> None:
    cell = plain(text)
    assert isinstance(cell, str)
    assert as_given(cell) == text


@given(texts)
def test_no_cell_begins_like_a_formula_but_numbers(text: str) -> None:
    cell = str(plain(text))
    if cell[:1] and cell[0] in "=+-@\t\r\n＝":
        float(cell)


@pytest.mark.parametrize("text", ["-5", "+0.5", "-1e-3", "1.", "-.5", "20.5", "", "a=b", "'", "2001-10-01", "it's"])
def test_numbers_and_other_texts_stay(text: str) -> None:
    assert plain(text) == text
    assert as_given(text) == text


def test_numbers_that_are_no_text_stay() -> None:
    assert [plain(value) for value in (-5, -0.5, None, True)] == [-5, -0.5, None, True]


@pytest.mark.parametrize("text", ["=1+1", "+a", "-5 degC", "@x", "\t=1", "\r=1", "-inf", "+nan"])
def test_what_a_spreadsheet_would_compute_becomes_text(text: str) -> None:
    written = io.StringIO()
    csv.writer(written).writerow([plain(text)])
    (cell,) = next(csv.reader(io.StringIO(written.getvalue(), newline="")))
    assert cell == "'" + text
