"""Membranes on one line: in series where they overlap, untouched elsewhere."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stemwall.cases.section.membrane_stacks import in_series
from stemwall.solver.model.section import Membrane


def level(name: str, x0: float, x1: float, sd: float = 1.0, y: float = 0.0, liquid: str = "break") -> Membrane:
    """Return a horizontal membrane."""
    return Membrane(name, x0, y, x1, y, sd, sd / 2, liquid, 0.1)  # type: ignore[arg-type]


def test_alone_stays_as_it_is() -> None:
    given_ones = [level("a", 0, 1), level("b", 0, 1, y=1.0), Membrane("c", 0, 0, 0, 1, 1.0, 1.0), level("d", 2, 3)]
    assert sorted(in_series(given_ones), key=lambda m: m.name) == given_ones


def test_the_shared_stretch_adds_up() -> None:
    left, both, right = in_series([level("a", 0, 2, sd=3), level("b", 1, 3, sd=5)])
    assert (left.name, left.x0, left.x1, left.sd_dry) == ("a", 0, 1, 3)
    assert (both.name, both.x0, both.x1, both.sd_dry, both.sd_wet) == ("a and b", 1, 2, 8, 4)
    assert both.resistance == pytest.approx(0.2)
    assert (right.name, right.x0, right.x1) == ("b", 2, 3)


def test_pieces_have_names_of_their_own() -> None:
    pieces = in_series([level("a", 0, 3), level("b", 1, 2)])
    assert [piece.name for piece in pieces] == ["a", "a and b", "a, 2"]


def test_water_passes_only_where_all_let_it() -> None:
    two = [level("a", 0, 1, liquid="open"), level("b", 0, 1, liquid="open")]
    assert in_series(two)[0].liquid == "open"
    assert in_series([*two, level("c", 0, 1)])[0].liquid == "break"


spans = st.tuples(st.integers(0, 20), st.integers(1, 20)).map(lambda pair: (pair[0], pair[0] + pair[1]))


@given(st.lists(spans, min_size=1, max_size=6))
def test_every_point_keeps_its_total(pairs: list[tuple[int, int]]) -> None:
    given_ones = [level(f"m{k}", low, high, sd=k + 1.0) for k, (low, high) in enumerate(pairs)]
    made = in_series(given_ones)
    assert len({piece.name for piece in made}) == len(made)
    for x in [k + 0.5 for k in range(40)]:
        total = sum(m.sd_dry for m in given_ones if m.x0 < x < m.x1)
        here = [m.sd_dry for m in made if m.x0 < x < m.x1]
        assert len(here) <= 1
        assert sum(here) == pytest.approx(total)
