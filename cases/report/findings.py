"""What a page says first: which variant misses which limit, where and by how much, and what was not asked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stemwall.cases.inputs.display_units import Units
from stemwall.cases.report import verdicts
from stemwall.cases.report.limits import limit_and_basis, unit_text
from stemwall.cases.results.variant import Variant
from stemwall.solver.assessment.criteria import CRITERIA, Criterion, Period, Verdict

#: what kinds of place mean whose name alone does not say why they are judged as they are
KINDS = {
    "ground contact": "A face in ground contact lies between concrete, soil or closed-cell foam, where no "
    "room air comes. It is damp by nature and holds nothing for mould to live on, so only liquid water is judged "
    "there; wood near it is judged for itself.",
    "exterior": "A place of the kind exterior is in the weather: rain and dew wet it by nature, and no criterion "
    "here, written for rooms and for wood, speaks about it.",
}


@dataclass(frozen=True)
class Finding:
    """One criterion over all variants: the least margin of each that was judged, as far as it is shown.

    Parameters
    ----------
    missed, held : list of str
        Names of the variants that miss the limit somewhere, and of those that keep it everywhere.
    name, place, cell
        Variant and place with the least margin of all.
    lately : list of str or None
        Of those that miss it, those that still do so in the last 12 months; None where that is all of the run.
    """

    criterion: Criterion
    limit: str
    unit: str
    missed: list[str]
    held: list[str]
    name: str
    place: str
    borrowed: bool
    cell: verdicts.Cell
    lately: list[str] | None = None


def findings(variants: Sequence[Variant], period: Period, units: Units) -> list[Finding]:
    """Return the criteria shown first that were judged anywhere: those that are missed, then the others."""
    found = [_finding(CRITERIA[key], variants, period, units) for key in verdicts.FIRST]
    return sorted((one for one in found if one is not None), key=lambda one: not one.missed)


def missed_besides(variants: Sequence[Variant], period: Period) -> list[tuple[str, list[str]]]:
    """Return the names of all other regular criteria that are missed, each with the variants that miss it."""
    found = []
    for criterion in CRITERIA.values():
        if criterion.id not in verdicts.FIRST and not criterion.optional:
            names = [v.name for v in variants if (w := verdicts.worst(v, criterion.id, period)) and not w.holds]
            if names:
                found.append((criterion.name, names))
    return found


def kinds_in_words(variants: Sequence[Variant]) -> dict[str, str]:
    """Return what to say about each kind of place of these variants that needs it."""
    there = {series.kind for variant in variants for series in variant.places.values()}
    return {kind: words for kind, words in KINDS.items() if kind in there}


def unasked(variants: Sequence[Variant]) -> list[str]:
    """Return the places that no criterion speaks about in any variant."""
    spoken = {verdict.place for variant in variants for verdict in variant.verdicts}
    return list(dict.fromkeys(place for variant in variants for place in variant.places if place not in spoken))


def _finding(criterion: Criterion, variants: Sequence[Variant], period: Period, units: Units) -> Finding | None:
    judged: dict[str, Verdict] = {}
    for variant in variants:
        worst = verdicts.worst(variant, criterion.id, period)
        if worst is not None:
            judged[variant.name] = worst
    if not judged:
        return None
    missed = [one for one, verdict in judged.items() if not verdict.holds]
    name, least = min(judged.items(), key=lambda item: item[1].margin)
    return Finding(
        criterion,
        limit_and_basis(criterion, units),
        unit_text(criterion, units),
        missed,
        [one for one, verdict in judged.items() if verdict.holds],
        name,
        least.place,
        least.borrowed,
        verdicts.short(least, units),
        _lately([v for v in variants if v.name in missed], criterion.id),
    )


def _lately(variants: Sequence[Variant], criterion: str) -> list[str] | None:
    """Return the variants that miss a limit in their last 12 months; None if one has no such period of its own."""
    last: Period = "last 12 months"
    if not all(last in verdicts.periods([variant]) for variant in variants):
        return None
    found = {variant.name: verdicts.worst(variant, criterion, last) for variant in variants}
    return [name for name, worst in found.items() if worst is not None and not worst.holds]
