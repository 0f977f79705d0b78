"""Sets of variants: every combination of stated values (`[sweep]`), or values drawn at random (`[sample]`).

Both make variants of the base, as `[[variant]]` does: dotted paths with new values, under a name that says
which.  The names of a sweep consist of its values, so that a value added later renames nothing.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import product
from math import prod
from typing import Annotated, Any, Protocol

from pydantic import Field, ValidationError

from stemwall.cases.case_file.material_bands import NoBandError, material_band
from stemwall.cases.case_file.sample import Distribution, StatedBand, drawn
from stemwall.cases.inputs.field_types import Name, Strict, described, required
from stemwall.cases.inputs.quantities import Draws, Seed

#: variants that one table may make
MOST = 10_000
#: letters of a file name without its suffix
LONGEST = 150
SWEEP, SAMPLE = "sweep", "sample"
#: how the path of a problem with a drawn value begins; one of them says it for all
DRAWN = re.compile(r"variant sample \d+: ")
Location = tuple[str | int, ...]


class VariantTable(Strict):
    """A small difference to the base: ``change`` maps dotted paths to new values."""

    name: Name = required('name of the variant; "base" is taken')
    change: dict[str, Any] = required(
        'dotted paths of the base and the values put there, e.g. "detail.sill.capillary_break" = false'
    )
    note: str = described("", "what the variant is about")


class SweepTable(Strict):
    """Every combination of the values of some dotted paths."""

    change: Annotated[dict[str, Annotated[list[Any], Field(min_length=1)]], Field(min_length=1)] = required(
        "values by dotted path; every combination is a variant"
    )
    note: str = described("", "what the sweep is about")


class SampleTable(Strict):
    """Values of some dotted paths drawn at random."""

    count: Draws = required("how many variants are drawn")
    change: Annotated[dict[str, Distribution], Field(min_length=1)] = required("distributions by dotted path")
    seed: Seed = described(1, "the same seed draws the same values", "any whole number")
    note: str = described("", "what the sample is about")


class Reader(Protocol):
    """What collects the problems of a case file."""

    def add(self, place: Location, path: str, found: str, expected: str) -> None:
        """Note one problem: place in the file, dotted path, what was found and expected."""

    def refused(self, error: ValidationError, model: type[Strict], at: Location) -> None:
        """Note the problems of one table."""


def take_sets(tree: dict[str, Any]) -> dict[str, Any]:
    """Take the tables of this module out of a case file's tree."""
    return {key: tree.pop(key) for key in (SWEEP, SAMPLE) if key in tree}


def variants_of(
    tables: Mapping[str, Any], reader: Reader, own: Mapping[str, Any] | None = None
) -> list[tuple[str, VariantTable]]:
    """Return the variants that the tables make, each with the name of its table.

    Parameters
    ----------
    tables : mapping
        The tables of a case file that `take_sets` took out.
    reader : Reader
        Collects the problems.
    own : mapping or None
        The materials that the case brings itself, whose numbers may have bands.
    """
    made: list[tuple[str, VariantTable]] = []
    if SWEEP in tables:
        try:
            made += [(SWEEP, variant) for variant in swept(SweepTable.model_validate(tables[SWEEP]), reader)]
        except ValidationError as error:
            reader.refused(error, SweepTable, (SWEEP,))
    if SAMPLE in tables:
        try:
            table = with_bands(SampleTable.model_validate(tables[SAMPLE]), own or {}, reader)
            made += [(SAMPLE, variant) for variant in sampled(table)] if table else []
        except ValidationError as error:
            reader.refused(error, SampleTable, (SAMPLE,))
    return made


def swept(table: SweepTable, reader: Reader) -> Iterator[VariantTable]:
    """Yield every combination, the last path changing fastest."""
    count = prod(len(values) for values in table.change.values())
    if count > MOST:
        reader.add((SWEEP,), "sweep.change", f"{count:,} combinations", f"at most {MOST:,}")
        return
    sound = True
    for path, values in table.change.items():
        shown = [label(value) for value in values]
        twice = next((text for number, text in enumerate(shown) if text in shown[:number]), None)
        if twice is not None:
            sound = False
            reader.add((SWEEP, "change", path), f"sweep: {path}", f"{twice} twice", "every value once")
    if not sound:
        return
    short = short_names(list(table.change))
    for chosen in product(*table.change.values()):
        name = ", ".join(f"{key}={label(value)}" for key, value in zip(short, chosen, strict=True))
        yield VariantTable(name=name, change=dict(zip(table.change, chosen, strict=True)), note=table.note)


def with_bands(table: SampleTable, own: Mapping[str, Any], reader: Reader) -> SampleTable | None:
    """Return the table with the bands of materials in place of "band", or None with problems noted."""
    change, sound = dict(table.change), True
    for path, distribution in table.change.items():
        if isinstance(distribution, StatedBand):
            try:
                low, value, high = material_band(path, own)
                change[path] = distribution.within(low, value, high)
            except NoBandError as error:
                sound = False
                reader.add((SAMPLE, "change", path), f"sample: {path}", error.found, error.expected)
    return table.model_copy(update={"change": change}) if sound else None


def sampled(table: SampleTable) -> Iterator[VariantTable]:
    """Yield as many variants as are asked for, by Latin hypercube sampling."""
    digits = max(3, len(str(table.count)))
    for number, change in enumerate(drawn(table.change, table.count, table.seed), start=1):
        yield VariantTable(name=f"sample {number:0{digits}d}", change=change, note=table.note)


def short_names(paths: Sequence[str]) -> list[str]:
    """Return the shortest ends of dotted paths that tell them apart."""
    names = []
    for path in paths:
        parts = path.split(".")
        for length in range(1, len(parts) + 1):
            end = parts[-length:]
            if sum(other.split(".")[-length:] == end for other in paths) == 1:
                break
        names.append(".".join(end))
    return names


def label(value: object) -> str:
    """Return a value as it stands in the name of a variant."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return " ".join(f"{key} {label(inner)}" for key, inner in value.items())
    if isinstance(value, list):
        return " ".join(map(label, value))
    return f"{value:.9g}" if isinstance(value, float) else str(value)


def file_stem(text: str) -> str:
    """Return a name in plain letters, digits and hyphens; a long one is cut and ends with a part of its hash."""
    signed = re.sub(r"(?<![a-z0-9])-(?=\.?\d)", " minus ", text.lower())
    stem = re.sub(r"[^a-z0-9]+", "-", signed).strip("-")
    if len(stem) <= LONGEST:
        return stem
    return f"{stem[: LONGEST - 9]}-{hashlib.sha256(text.encode()).hexdigest()[:8]}"
