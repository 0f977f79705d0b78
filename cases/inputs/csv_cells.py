"""Text in the cells of a CSV file: never a formula to the spreadsheet that opens it.

A spreadsheet computes what begins like a formula, whoever gave it that name.  An apostrophe before it makes it text.
"""

from __future__ import annotations

import re

#: begins like a formula, or as what this module made of that; the wide signs are taken for the plain ones
_FORMULA = re.compile(r"'*[=+\-@\t\r\n＝＋－＠]")
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")


def plain(value: object) -> object:
    """Return a value as it is written to a cell: text that begins like a formula after an apostrophe."""
    if isinstance(value, str) and _FORMULA.match(value) and not _NUMBER.fullmatch(value):
        return f"'{value}"
    return value


def as_given(cell: str) -> str:
    """Return the text that `plain` made a cell of."""
    return cell[1:] if cell.startswith("'") and _FORMULA.match(cell) else cell
