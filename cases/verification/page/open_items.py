"""What the verification could not confirm: sources that were not re-read, and benchmarks that are not there."""

from __future__ import annotations

from collections.abc import Iterable

from stemwall.cases.verification.comparison import Comparison
from stemwall.cases.verification.rules_of_practice import checks

#: words by which a source or note says that it was not read
MARKS = ("from memory", "to be checked", "second-hand", "secondary", "read in a public", "open research")
#: published benchmarks and checks that are no part of the suite, and why
OPEN = (
    *checks.NOT_RUN,
    "HAMSTAD benchmarks: material tables, climate files, results and bands of the participants could not be read, so "
    "nothing is compared with them; benchmark 2 has a series solution, 1 and 5 are run as recalled against a second "
    "solver, 3 (air through a light wall) and 4 (rain on a wall with a finish) could not be recalled",
    "EN 15026 Annex A: the printed table of limits was not at hand; the case solves the equations as recalled",
    "Measured assemblies in the field: numbers of crawlspace and basement studies are known from abstracts only",
)


def unread(comparisons: Iterable[Comparison]) -> list[str]:
    """Sources and notes, each once, that say they are recalled or second-hand."""
    found = dict.fromkeys(text for c in comparisons for text in (c.source, c.note) if any(m in text for m in MARKS))
    return list(found)
