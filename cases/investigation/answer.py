"""The answer to the question why a place is wet, in numbers and in sentences."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from stemwall.cases.inputs.display_units import number
from stemwall.cases.investigation import shares
from stemwall.cases.investigation.effects import Effect, effects_for, leading
from stemwall.cases.investigation.shares import Combination, Pair, Shares
from stemwall.cases.investigation.sources import Source, in_list
from stemwall.cases.report.limits import telling

#: share of what all sources do together below which an interaction is not told
TELLING = 0.05
#: sets of sources, and pairs, that are told
SETS, PAIRS = 3, 4


@dataclass(frozen=True)
class Answer:
    """What the sources of a case do to a place.

    Parameters
    ----------
    place, kind, title : str
        Name of the place, what lies there, title of the case.
    sources : sequence of Source
        Those that the case has.
    absent : sequence of Source
        Those that it has not.
    values : mapping
        Numbers of the place by key, see `effects`, by the combination of sources that are present.
    """

    place: str
    kind: str
    title: str
    sources: Sequence[Source]
    absent: Sequence[Source]
    values: Mapping[Combination, Mapping[str, float]]

    @property
    def everything(self) -> Combination:
        """All sources present."""
        return frozenset(range(len(self.sources)))

    @cached_property
    def effects(self) -> list[Effect]:
        """The numbers that the place has, the leading one first."""
        base = self.values[self.everything]
        found = [effect for effect in effects_for(self.kind) if effect.key in base]
        first = leading(found, base)
        return sorted(found, key=lambda effect: effect is not first)

    @property
    def lead(self) -> Effect:
        """The number that the answer begins with."""
        return self.effects[0]

    @property
    def exact(self) -> bool:
        """Whether shares are exact."""
        return len(self.sources) <= shares.EXACT

    def of(self, effect: Effect) -> dict[Combination, float]:
        """Return one number by combination."""
        return {combination: values[effect.key] for combination, values in self.values.items()}

    def with_all(self, effect: Effect) -> float:
        """Return a number with all sources."""
        return self.values[self.everything][effect.key]

    def with_none(self, effect: Effect) -> float:
        """Return a number with all sources switched off."""
        return self.values[frozenset()][effect.key]

    def together(self, effect: Effect) -> float:
        """Return what all sources add together."""
        return self.with_all(effect) - self.with_none(effect)

    def shares(self, effect: Effect) -> Shares:
        """Return the share of each source."""
        return shares.shapley(self.of(effect), len(self.sources))

    def taken_away(self, effect: Effect, source: int) -> float:
        """Return what a number loses if one source alone is switched off."""
        return self.with_all(effect) - self.values[self.everything - {source}][effect.key]

    def brought_alone(self, effect: Effect, source: int) -> float:
        """Return what one source adds where no other is."""
        return self.values[frozenset({source})][effect.key] - self.with_none(effect)

    def pairs(self, effect: Effect) -> list[Pair]:
        """Return the pairs of sources that do not add up."""
        least = max(effect.counts, TELLING * abs(self.together(effect)))
        return shares.pairs(self.of(effect), len(self.sources), least)[:PAIRS]

    def remedies(self, effect: Effect) -> list[Combination]:
        """Return the smallest sets of sources without which the limit of a number is kept."""
        held = {combination: effect.held(value) for combination, value in self.of(effect).items()}
        return shares.enough_to_remove(held, len(self.sources))

    def sentences(self) -> list[str]:
        """Return the answer in words: what is, whose it is, what goes together, and what would have to go."""
        effect = self.lead
        told = [self._what_is(effect)]
        if not self.sources:
            return [*told, "None of the sources asked about is in this case."]
        told.append(self._whose(effect))
        told += [self._pair(effect, pair) for pair in self.pairs(effect)]
        told += filter(None, [self._remedy(effect)])
        others = [
            other for other in self.effects[1:] if other.limit is not None and not other.held(self.with_all(other))
        ]
        told += [f"{self._what_is(other)} {self._whose(other)}" for other in others]
        return told

    def _what_is(self, effect: Effect) -> str:
        value = self.with_all(effect)
        if effect.limit is not None:
            # as many digits as tell on which side of its limit a value is
            effect = replace(effect, digits=telling(value - effect.limit, effect.digits))
        text = f"{effect.name[0].upper()}{effect.name[1:]}, at {self.place}: {effect.text(value)}"
        if effect.limit is None:
            return f"{text}."
        verdict = "held" if effect.held(value) else "not held"
        return f"{text}; the limit, below {effect.text(effect.limit)}, is {verdict}."

    def _whose(self, effect: Effect) -> str:
        total = self.together(effect)
        rest = f"with all of them switched off {effect.text(self.with_none(effect))} are left"
        if abs(total) < effect.counts:
            return f"The sources asked about change it by no more than {effect.text(effect.counts)} together: {rest}."
        share = self.shares(effect).share
        order = sorted(range(len(self.sources)), key=lambda k: -abs(share[k]))
        least = max(0.5 * 10.0**-effect.digits, TELLING * abs(total))
        counted = [k for k in order if abs(share[k]) >= least]
        small = [self.sources[k].name for k in order if k not in counted]
        parts = [f"{self.sources[k].name} {self._signed(effect, float(share[k]))}" for k in counted]
        text = f"Of the {effect.text(total)} that all sources add together, the shares are: {', '.join(parts)}; {rest}."
        if small:
            text += f" Hardly anything comes from {in_list(small)}."
        return text

    def _pair(self, effect: Effect, pair: Pair) -> str:
        first, second = self.sources[pair.first].name, self.sources[pair.second].name
        lost = (pair.without_first, pair.without_second, pair.without_both)
        first_away, second_away, both_away = (self._signed(effect, -value) for value in lost)
        numbers = (
            f"it changes by {first_away} without the first, {second_away} without the second, {both_away} without both"
        )
        heads = {
            "either": f"{first} or {second} alone is enough",
            "overlap": f"{first} and {second} partly stand in for each other",
            "both": f"It takes both {first} and {second}",
            "strengthen": f"{first} and {second} strengthen each other",
        }
        head = heads[pair.kind]
        return f"{head[0].upper()}{head[1:]}: {numbers}."

    def _remedy(self, effect: Effect) -> str:
        if effect.limit is None:
            return ""
        limit = f"below {effect.text(effect.limit)}"
        if effect.held(self.with_all(effect)):
            return f"It stays {limit} as it is."
        found = self.remedies(effect)
        if not found:
            return f"It would not come {limit} even without all of these sources: look for another one."
        sets = [in_list([self.sources[k].name for k in sorted(away)]) for away in found[:SETS]]
        more = f" ({len(found) - SETS} more combinations would do)" if len(found) > SETS else ""
        return f"It would come {limit} without {'; or without '.join(sets)}{more}."

    @staticmethod
    def _signed(effect: Effect, value: float) -> str:
        text = number(value, effect.digits)
        return f"{'' if value < 0 or text.strip('0.,') == '' else '+'}{text} {effect.unit}".strip()
