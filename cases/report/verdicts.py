"""Verdicts as a page shows them: criteria over places and variants, and what changes against the base."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

import numpy as np
import pandas as pd

from stemwall.cases.inputs.display_units import Quantity, Units, number
from stemwall.cases.report.limits import (
    basis_text,
    decimals,
    in_words,
    limit_text,
    quantity_of,
    scaled,
    telling,
    unit_in,
    value_in,
)
from stemwall.cases.results.variant import Variant
from stemwall.solver.assessment.criteria import BASES, CRITERIA, Criterion, Period, Verdict, other_basis

#: the criteria that a page shows first
FIRST = ("mould-index", "wood-moisture-piece", "surface-humidity-30-day", "liquid-ground-contact", "frost-bearing-soil")
WORDS = {True: "✓ held", False: "✕ not held", None: "– not judged"}
CLASSES = {True: "held", False: "missed", None: "unjudged"}
TURNED = {True: ("now held", "gained"), False: ("no longer held", "lost")}


@dataclass(frozen=True)
class Cell:
    """One verdict in a table."""

    value: str
    margin: str
    when: str
    word: str
    look: str
    note: str = ""


EMPTY = Cell("–", "", "", "place not in this variant", "absent")


@dataclass
class Row:
    """One place under one criterion, a cell for every variant."""

    place: str
    variant_of: str
    borrowed: bool
    cells: list[Cell] = field(default_factory=list)


@dataclass
class Group:
    """One criterion with its places."""

    criterion: Criterion
    limit: str
    basis: str
    rows: list[Row] = field(default_factory=list)
    note: str = ""
    #: places where the criterion found nothing to judge in any variant
    silent: list[str] = field(default_factory=list)

    def lift_note(self) -> None:
        """Move remarks that all judged cells share to the head of the group."""
        cells = [cell for row in self.rows for cell in row.cells if cell.look in ("held", "missed")]
        if len(cells) < 2:
            return
        shared = [part for part in cells[0].note.split("; ") if all(part in c.note.split("; ") for c in cells)]
        self.note = "; ".join(shared)
        for row in self.rows:
            row.cells = [replace(cell, note=_without(cell.note, shared)) for cell in row.cells]


def _without(note: str, parts: Sequence[str]) -> str:
    return "; ".join(part for part in note.split("; ") if part not in parts)


def periods(variants: Sequence[Variant]) -> list[Period]:
    """Return the periods that the verdicts speak about."""
    found = {verdict.period for variant in variants for verdict in variant.verdicts}
    ordered: tuple[Period, ...] = ("whole run", "last 12 months")
    return [period for period in ordered if period in found]


def groups(variants: Sequence[Variant], period: Period, units: Units, *, first: bool) -> list[Group]:
    """Return the criteria with their places: those shown first, or all others."""
    tables = [_by_key(variant, period) for variant in variants]
    keys = list(dict.fromkeys(key for table in tables for key in table))
    made: dict[str, Group] = {}
    for key in keys:
        sample = next(table[key] for table in tables if key in table)
        criterion = sample.criterion
        if (criterion.id in FIRST) != first:
            continue
        group = made.setdefault(
            criterion.id,
            Group(criterion, limit_text(criterion, units), basis_text(criterion)),
        )
        if all(np.isnan(table[key].value) for table in tables if key in table):
            group.silent.append(key[1])
            continue
        cells = [
            _cell(table[key], units) if key in table else _absent(variant, key, table)
            for variant, table in zip(variants, tables, strict=True)
        ]
        borrowed = any(table[key].borrowed for table in tables if key in table)
        group.rows.append(Row(key[1], key[2].replace("_", " "), borrowed, cells))
    for group in made.values():
        group.lift_note()
    order = list(CRITERIA)
    # what is asked for on special occasions stands last
    return sorted(
        made.values(),
        key=lambda g: (_rank(g.criterion.id), g.criterion.optional, order.index(g.criterion.id)),
    )


def worst(variant: Variant, criterion: str, period: Period) -> Verdict | None:
    """Return the verdict with the smallest margin under one criterion; for mould that of the own class."""
    found = [
        verdict
        for (key, place, _), verdict in _by_key(variant, period).items()
        if key == criterion and verdict.holds is not None and verdict is own_class(variant, place, period, key)
    ]
    return min(found, key=lambda verdict: verdict.margin, default=None)


def own_class(variant: Variant, place: str, period: Period, criterion: str) -> Verdict | None:
    """Return the first verdict on a place: for mould the one for its own sensitivity class."""
    matching = (v for (key, at, _), v in _by_key(variant, period).items() if (key, at) == (criterion, place))
    return next(matching, None)


def why_not(variant: Variant, criterion: str, period: Period) -> str:
    """Return why a variant has no verdict under a criterion."""
    found = [v for (key, _, _), v in _by_key(variant, period).items() if key == criterion and v.holds is None]
    if not found:
        return "no place that it speaks about"
    return "the run stopped before its end" if found[0].incomplete else _lacking(found[0].note)


def short(verdict: Verdict | None, units: Units, why: str = "") -> Cell:
    """Return a verdict for a summary, its place in ``note``; without one, ``why``."""
    if verdict is None:
        return Cell("–", "", "", WORDS[None], CLASSES[None], why)
    cell = _cell(verdict, units)
    place = verdict.place + (", borrowed below grade" if verdict.borrowed else "")
    return replace(cell, note=place)


@dataclass(frozen=True)
class Change:
    """Difference of one value to the base: text, direction word, whether the verdict turned."""

    text: str
    word: str
    look: str


@dataclass
class ChangeRow:
    """Differences to the base at one place under one criterion."""

    place: str
    criterion: str
    base: str
    changes: list[Change] = field(default_factory=list)


def changes(variants: Sequence[Variant], period: Period, units: Units) -> list[ChangeRow]:
    """Return the differences of all other variants to the first, for the criteria shown first."""
    base, *others = [_by_key(variant, period) for variant in variants]
    rows = []
    for key, verdict in sorted(base.items(), key=lambda item: _rank(item[0][0])):
        if key[0] in FIRST and verdict.holds is not None:
            row = ChangeRow(key[1], _label(verdict), _cell(verdict, units).value)
            row.changes = [_change(verdict, table.get(key), units) for table in others]
            rows.append(row)
    return rows


def _rank(criterion: str) -> int:
    return FIRST.index(criterion) if criterion in FIRST else len(FIRST)


def _label(verdict: Verdict) -> str:
    return verdict.criterion.name + (f", {verdict.variant.replace('_', ' ')}" if verdict.variant else "")


def _change(base: Verdict, other: Verdict | None, units: Units) -> Change:
    if other is None or other.holds is None:
        return Change("–", "not comparable", "absent")
    gain = other.margin - base.margin
    shown = units.criterion(base.criterion.unit, difference=True)
    difference = number(float(scaled(other.value - base.value, base.criterion, shown)), decimals(base.criterion))
    sign = "" if difference.startswith("−") else "+"
    text = f"{sign}{difference} {unit_in(base.criterion, shown)}".strip()
    if base.holds != other.holds:
        return Change(text, *TURNED[other.holds is True])
    if not any(c in "123456789" for c in difference):
        return Change(text.replace("+", "±"), "same", "same")
    return Change(text, "▲ more margin" if gain > 0 else "▼ less margin", "gain" if gain > 0 else "loss")


def _by_key(variant: Variant, period: Period) -> dict[tuple[str, str, str], Verdict]:
    """Verdicts by (criterion, place, class); mould index without a class is left out."""
    return {
        (v.criterion.id, v.place, v.variant): v
        for v in variant.verdicts
        if v.period == period and not (v.criterion.id == "mould-index" and not v.variant)
    }


def _absent(variant: Variant, key: tuple[str, str, str], table: Mapping[tuple[str, str, str], Verdict]) -> Cell:
    """Return the cell of a place that a variant lacks, or that is of another kind or class there."""
    if key[1] not in variant.places:
        return EMPTY
    same = any(other[:2] == key[:2] for other in table)
    why = "of another class here" if same else f"here of the kind “{variant.places[key[1]].kind}”"
    return Cell("–", "", "", "– not asked", "absent", why)


def _lacking(note: str) -> str:
    """Return the note of what was not judged, without saying so again."""
    return in_words(note.replace("not judged, ", ""))


def _cell(verdict: Verdict, units: Units) -> Cell:
    criterion, holds = verdict.criterion, verdict.holds
    shown, apart = quantity_of(criterion, units), units.criterion(criterion.unit, difference=True)
    if holds is None:
        until = value_in(verdict.value, criterion, shown)
        reached = f"until then {until} {unit_in(criterion, shown)}".strip() if verdict.incomplete else ""
        known = reached if verdict.incomplete and not np.isnan(verdict.value) else ""
        return Cell("–", "", "", WORDS[None], CLASSES[None], "; ".join(filter(None, (_lacking(verdict.note), known))))
    carried = "ends higher than a year before" if verdict.carry_over else ""
    note = "; ".join(filter(None, (_beside(verdict, shown), _brief(verdict.note), carried)))
    margin = float(scaled(verdict.margin, criterion, apart))
    digits = telling(margin, decimals(criterion))
    return Cell(
        number(float(scaled(verdict.value, criterion, shown)), digits),
        number(margin, digits),
        "" if verdict.value == 0.0 else date(verdict.when),
        WORDS[holds],
        CLASSES[holds],
        note,
    )


def _brief(note: str) -> str:
    """Return a note without the lines of wood moisture above one that was never passed: they were not either."""
    return re.sub(r"(, 0 d above \d+ %)+", "", note)


def _beside(verdict: Verdict, shown: Quantity) -> str:
    """Return what the other basis gives, in words: it is not judged."""
    if np.isnan(verdict.beside):
        return ""
    criterion = verdict.criterion
    return f"{BASES[other_basis(criterion.basis)]} {value_in(verdict.beside, criterion, shown)} {shown.unit}"


def date(when: datetime | np.datetime64 | None) -> str:
    """Return a date and hour in words."""
    if when is None:
        return ""
    stamp = pd.Timestamp(when)
    return f"{stamp.day} {stamp:%b %Y, %H:%M}"
