"""The answer in words: whose it is, what goes together, and what would have to go."""

from __future__ import annotations

from collections.abc import Callable

from stemwall.cases.investigation.answer import Answer
from stemwall.cases.investigation.shares import Combination, combinations_for
from stemwall.cases.investigation.sources import SOURCES

RAIN, FOOTING, INDOOR = SOURCES[0], SOURCES[1], SOURCES[4]


def answer(humidity: Callable[[Combination], float]) -> Answer:
    values = {c: {"humidity": humidity(c), "humid_days": 0.0} for c in combinations_for(3)}
    return Answer("sill underside", "wood", "A wall", [RAIN, FOOTING, INDOOR], [], values)


def test_rain_or_footing_alone_is_enough() -> None:
    told = answer(lambda c: 70.0 + 20.0 * bool(c & {0, 1})).sentences()
    assert told == [
        "Humidity, highest 30-day mean, at sill underside: 90.0 % RH; the limit, below 80.0 % RH, is not held.",
        "Of the 20.0 % RH that all sources add together, the shares are: rain +10.0 % RH, water rising out of the "
        "footing +10.0 % RH; with all of them switched off 70.0 % RH are left. Hardly anything comes from moisture of "
        "indoor air.",
        "Rain or water rising out of the footing alone is enough: it changes by 0.0 % RH without the first, 0.0 % RH "
        "without the second, −20.0 % RH without both.",
        "It would come below 80.0 % RH without rain and water rising out of the footing.",
    ]


def test_it_takes_both_and_one_less_is_enough() -> None:
    told = answer(lambda c: 70.0 + 20.0 * (c >= {0, 2})).sentences()
    assert told[2].startswith("It takes both rain and moisture of indoor air: it changes by −20.0 % RH without the")
    assert told[3] == "It would come below 80.0 % RH without rain; or without moisture of indoor air."


def test_sources_that_do_nothing_are_not_blamed() -> None:
    told = answer(lambda c: 90.0 + 0.1 * len(c)).sentences()
    assert told[1].startswith("The sources asked about change it by no more than 0.5 % RH together")
    assert told[-1] == "It would not come below 80.0 % RH even without all of these sources: look for another one."


def test_a_value_just_below_its_limit_is_shown_with_the_digits_that_tell() -> None:
    told = answer(lambda c: 79.97).sentences()
    assert "79.97 % RH; the limit, below 80.00 % RH, is held" in told[0]
    assert told[-1] == "It stays below 80.0 % RH as it is."


def test_a_case_without_sources_says_so() -> None:
    one = Answer("core", "concrete", "A wall", [], [RAIN], {frozenset(): {"humidity": 90.0}})
    said = ["Humidity, highest 30-day mean, at core: 90.0 % RH.", "None of the sources asked about is in this case."]
    assert one.sentences() == said
