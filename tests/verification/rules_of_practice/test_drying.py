"""Common practice: slabs and fill that dry for years, and the columns that show it."""

from __future__ import annotations

import pytest

from stemwall.cases.verification.rules_of_practice import drying
from stemwall.cases.verification.rules_of_practice.checks import Check
from stemwall.cases.verification.rules_of_practice.columns import Column, Layer, room, soil, suction_of
from tests.verification.rules_of_practice.practice_samples import checks_of, held


@checks_of(drying)
def test_drying(check: Check) -> None:
    assert held(check)


def _column() -> Column:
    return Column((soil(0.3, 6), Layer("concrete_wc050", 0.1, 8, 0.97)), room(21.0, 0.5), 12.0, {0: "pe_015"})


def test_a_column_starts_layer_by_layer() -> None:
    column = _column()
    assert column.humidity_in(1) == pytest.approx(0.97, abs=0.002)
    assert column.humidity_in(0) > 0.999
    assert column.given == 0.0


def test_what_a_column_gives_off_it_loses() -> None:
    """The sheet lets next to nothing pass, so that the slab's loss is what the room gains."""
    column = _column()
    before = column.water_in(1)
    column.after(0.25)
    assert column.given == pytest.approx(before - column.water_in(1), rel=0.03)


def test_suction_of_a_humidity() -> None:
    """Kelvin's law by hand at 20 degC: 1000 kg/m3 x 461.5 J/(kg K) x 293.15 K x ln 2."""
    assert suction_of(0.5) == pytest.approx(1000 * 461.5 * 293.15 * 0.693147, rel=0.005)
