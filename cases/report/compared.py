"""Inputs of all variants side by side: what the base has, and where a variant has something else."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from stemwall.cases.inputs.display_units import Units
from stemwall.cases.report import inputs
from stemwall.cases.results.variant import Variant

Cells = tuple[str, ...]
#: a variant's rows: cells by what they are about
Rows = Mapping[str, Cells]


@dataclass(frozen=True)
class Other:
    """What some variants have where the base has something else: only the cells that differ, None if they have none."""

    variants: str
    cells: Cells | None


@dataclass(frozen=True)
class Entry:
    """One row of inputs.

    Parameters
    ----------
    key : str
        What it is about.
    cells : tuple of str, or None
        Of the base; None if it has no such row.
    others : list of Other
        Of the variants that differ, those that agree with each other together.
    mark : str
        Number of a probe in the drawing of the base.
    """

    key: str
    cells: Cells | None
    others: list[Other] = field(default_factory=list)
    mark: str = ""


def compared(variants: Sequence[Variant], rows_of: Callable[[Variant], Rows]) -> list[Entry]:
    """Return the rows of the base with what the others have instead, then the rows that only others have."""
    base, *others = [rows_of(variant) for variant in variants]
    keys = dict.fromkeys(key for rows in (base, *others) for key in rows)
    return [_entry(key, base.get(key), variants[1:], [rows.get(key) for rows in others]) for key in keys]


def _entry(key: str, cells: Cells | None, variants: Sequence[Variant], found: Sequence[Cells | None]) -> Entry:
    names: dict[Cells | None, list[str]] = {}
    for variant, theirs in zip(variants, found, strict=True):
        if theirs != cells:
            names.setdefault(theirs, []).append(variant.name)
    return Entry(key, cells, [Other(", ".join(who), _differing(cells, theirs)) for theirs, who in names.items()])


def _differing(cells: Cells | None, theirs: Cells | None) -> Cells | None:
    """Return the cells of a variant, blank where they are those of the base."""
    if theirs is None or cells is None:
        return theirs
    return tuple("" if one == other else one or "–" for one, other in zip(theirs, cells, strict=True))


def materials(variants: Sequence[Variant], units: Units) -> list[Entry]:
    """Return the materials; cells as in `report_inputs.MaterialRow`, lines of one cell apart by line breaks."""

    def rows(variant: Variant) -> Rows:
        return {
            m.name: ("; ".join(m.where), m.dry, m.moist, m.density, m.vapour, m.liquid, "\n".join(m.sources))
            for m in inputs.materials(variant, units)
        }

    return compared(variants, rows)


def membranes(variants: Sequence[Variant]) -> list[Entry]:
    """Return the membranes by name; pieces of one that differ stand beside each other in a cell."""

    def rows(variant: Variant) -> Rows:
        found: dict[str, list[Cells]] = {}
        for m in inputs.membranes(variant):
            found.setdefault(m.name, []).append((m.sd, m.perm, m.liquid))
        return {name: tuple("\n".join(column) for column in zip(*cells, strict=True)) for name, cells in found.items()}

    return compared(variants, rows)


def probes(variants: Sequence[Variant], units: Units) -> list[Entry]:
    """Return the probes, marked by their numbers in the drawing of the base."""

    def rows(variant: Variant) -> Rows:
        return {p.name: (p.material, p.kind, p.mould_class, p.where, p.note) for p in inputs.probes(variant, units)}

    numbers = {p.name: str(p.number) for p in inputs.probes(variants[0], units)}
    return [replace(entry, mark=numbers.get(entry.key, "–")) for entry in compared(variants, rows)]


def origins(variants: Sequence[Variant]) -> list[Entry]:
    """Return what the results say of weather, site, air, leaks, floods and workmanship."""
    return compared(variants, lambda variant: {key: (text,) for key, text in inputs.origins(variant)})


def settings(variants: Sequence[Variant]) -> list[Entry]:
    """Return every single value: value, meaning, origin; what a variant states is named so."""

    def rows(variant: Variant) -> Rows:
        return {s.path: (s.value, s.meaning, s.origin) for s in inputs.settings(variant)}

    found = compared(variants, rows)
    # a value that is the same although stated in one place and default in the other is no difference
    return [replace(entry, others=[o for o in entry.others if o.cells is None or o.cells[0]]) for entry in found]


def sources(variants: Sequence[Variant]) -> list[tuple[str, str]]:
    """Return the sources of the materials of all variants."""
    return sorted({row for variant in variants for row in inputs.sources(variant)})
