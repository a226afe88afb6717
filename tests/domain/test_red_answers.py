"""The net below the rules: what is red without a protocol is an emergency by every protocol that ships."""

from __future__ import annotations

import pytest

from followup.domain.answers import ANSWERS, Question
from followup.domain.protocol import Protocol
from followup.domain.red_answers import IN_EVERY_SPECIES, IN_GRAZERS, IN_SMALL_MAMMALS, red_in
from followup.domain.rules import AnswerRule, Applies
from followup.domain.terms import Level, Species
from followup.domain.understood import Answered
from followup.protocols.load import available
from tests.world import at

WHOLE = available()
TABLES = (IN_EVERY_SPECIES, IN_SMALL_MAMMALS, IN_GRAZERS)
EVERY = sorted({(str(key), value) for table in TABLES for key in table for value in table[key]})


def told(key: str, *values: str) -> Answered:
    return Answered(key, values, at("20:00"))


def always_an_emergency(rule: AnswerRule) -> bool:
    """At any hour, for any operation, by this answer alone."""
    alone = not rule.together_with and not rule.twice_running and rule.only == Applies()
    return alone and all(step.level is Level.EMERGENCY for step in rule.steps)


def gives_emergency(protocol: Protocol, key: str, value: str) -> bool:
    rules = [each for each in protocol.rules.answers if each.question == key and value in each.answers]
    return any(always_an_emergency(each) for each in rules)


@pytest.mark.parametrize("protocol", WHOLE, ids=lambda each: each.name)
def test_what_is_red_without_rules_is_an_emergency_by_the_rules(protocol):
    red = [(key, value) for key, value in EVERY if red_in([told(key, value)], protocol.species)]

    assert len(red) > 10
    assert [each for each in red if not gives_emergency(protocol, *each)] == []


@pytest.mark.parametrize("protocol", WHOLE, ids=lambda each: each.name)
def test_nothing_that_the_rules_always_call_an_emergency_is_missing_below_them(protocol):
    asked = [(str(key), value) for key in Question for value in ANSWERS[key] if gives_emergency(protocol, key, value)]

    assert [each for each in asked if not red_in([told(*each)], protocol.species)] == []


def test_every_red_answer_is_one_that_can_be_given():
    assert [each for each in EVERY if each[1] not in ANSWERS[Question(each[0])]] == []


def test_what_is_an_emergency_in_small_mammals_alone_is_red_in_them_alone():
    cold, drum = [told("warmth", "cold_all_over")], [told("belly", "tight_or_drum")]

    assert [bool(red_in(cold, each)) for each in (Species.FERRET, Species.DOG)] == [True, False]
    assert [bool(red_in(drum, each)) for each in (Species.RABBIT, Species.RAT, Species.CAT)] == [True, False, False]


def test_red_answers_are_named_once_in_plain_words():
    given = [told("wound.bleeding", "steady_drip"), told("appetite", "none"), told("wound.bleeding", "steady_drip")]

    assert red_in(given, Species.CAT) == ("wound bleeding steady drip",)
