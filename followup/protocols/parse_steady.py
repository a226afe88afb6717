"""The rules that differ only in their figures, read from a protocol's tables: `[asked]`, `[before_sleep]` and so on."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import TypeVar

from followup.domain.answers import ANSWERS, Question
from followup.domain.reading import Table
from followup.domain.sources import Fact
from followup.domain.steady_rules import (
    Asked,
    BeforeSleep,
    FirstNight,
    Mishaps,
    NotTaken,
    Silence,
    SteadyRules,
    StopAndCall,
)
from followup.domain.terms import GRAZERS, SMALL_MAMMALS, Level, Species
from followup.protocols.refusals import refuse_in, source_of

STEADY_TABLES = ("asked", "before_sleep", "not_taken", "stop_and_call", "mishaps", "silence")
NIGHTS_UNSAID = {**dict.fromkeys(SMALL_MAMMALS, 1), **dict.fromkeys(GRAZERS, 3)}
"""Nights that are decided where a plan keeps a copy of a protocol from before they stood in it."""

VOMITING = "vomiting"
"""Beside answers: the newest count of vomits is one or more."""

Rule = TypeVar("Rule")


def parse_steady(tables: Mapping[str, object], species: Species, where: str) -> SteadyRules:
    """Every table that is there; for one that is not, the figures of `domain/steady_rules`. Raises BadProtocol."""
    whole = Table(dict(tables), "$", refuse_in(where))
    found = SteadyRules(
        asked=_one(whole, "asked", _asked, Asked()),
        before_sleep=_one(whole, "before_sleep", _before_sleep, BeforeSleep(nights=NIGHTS_UNSAID.get(species, 0))),
        not_taken=_one(whole, "not_taken", _not_taken, NotTaken()),
        stop_and_call=_one(whole, "stop_and_call", _stop_and_call, StopAndCall()),
        mishaps=_one(whole, "mishaps", _mishaps, Mishaps()),
        silence=_one(whole, "silence", _silence, Silence(first_night=FirstNight() if species in GRAZERS else None)),
    )
    whole.done()
    return found


def _one(whole: Table, key: str, read: Callable[[Table], Rule], absent: Rule) -> Rule:
    if not whole.has(key):
        return absent
    table = whole.table(key)
    found = read(table)
    table.done()
    return found


def _asked(table: Table) -> Asked:
    return Asked(
        for_waking=_minutes(table, "waking_minutes"),
        too_late=_minutes(table, "too_late_minutes"),
        source=source_of(table),
    )


def _before_sleep(table: Table) -> BeforeSleep:
    return BeforeSleep(
        nights=table.needed_whole("nights"),
        unanswered=_minutes(table, "unanswered_minutes_before_sleep"),
        until_after_waking=_minutes(table, "until_minutes_after_waking"),
        word_after_waking=_minutes(table, "word_minutes_after_waking"),
        level=level_in(table, "level"),
        with_signs=level_in(table, "with_signs"),
        source=source_of(table),
    )


def _not_taken(table: Table) -> NotTaken:
    return NotTaken(
        running=table.needed_whole("running", least=1), level=level_in(table, "level"), source=source_of(table)
    )


def _stop_and_call(table: Table) -> StopAndCall:
    signs = table.texts("signs")
    return StopAndCall(
        before=_minutes(table, "minutes_before"),
        facts=frozenset(fact_in(table, "signs", each) for each in signs if each != VOMITING),
        later_from=dt.timedelta(hours=table.needed_number("later_from_hours", above=0)),
        facts_later=frozenset(fact_in(table, "signs_later", each) for each in table.texts("signs_later")),
        vomiting=VOMITING in signs,
        level=level_in(table, "level"),
        source=source_of(table),
    )


def _mishaps(table: Table) -> Mishaps:
    return Mishaps(
        half_again=Fraction(str(table.needed_number("half_again_times", above=1))),
        far_too_much=Fraction(str(table.needed_number("far_too_much_times", above=1))),
        a_little_more=level_in(table, "a_little_more"),
        another=level_in(table, "another"),
        another_nsaid=level_in(table, "another_nsaid"),
        grave=level_in(table, "grave"),
        for_people=tuple(each.casefold() for each in table.texts("painkillers_for_people")),
        told_twice_within=_minutes(table, "told_twice_within_minutes"),
        source=source_of(table),
    )


def _silence(table: Table) -> Silence:
    return Silence(
        early=dt.timedelta(hours=table.needed_number("early_until_hours", above=0)),
        last_answer_good=level_in(table, "last_answer_good"),
        last_answer_not_good=level_in(table, "last_answer_not_good"),
        later=level_in(table, "later"),
        running=table.needed_whole("running", least=2),
        several=level_in(table, "several"),
        first_night=_first_night(table.table("first_night")) if table.has("first_night") else None,
        source=source_of(table),
    )


def _first_night(table: Table) -> FirstNight:
    found = FirstNight(
        level=level_in(table, "level"),
        call_at=table.clock("call_at"),
        vet_at=table.clock("vet_at"),
        first_at=table.clock("first_at"),
    )
    if not found.call_at <= found.vet_at <= found.first_at:
        raise table.wrong("call_at", "must not be later than vet_at, nor that than first_at")
    table.done()
    return found


def level_in(table: Table, key: str) -> Level:
    """monitor, urgent or emergency."""
    word = table.text(key)
    if word not in {each.word for each in Level if each is not Level.ON_TRACK}:
        raise table.wrong(key, "must be monitor, urgent or emergency")
    return Level.from_word(word)


def fact_in(table: Table, key: str, words: str) -> Fact:
    """A fact written as demeanour=dull."""
    name, _, answer = words.partition("=")
    try:
        question = Question(name)
    except ValueError:
        raise table.wrong(key, f"cannot be read at {words!r}: write demeanour=dull") from None
    return question, known_answer(table, key, question, answer)


def known_answer(table: Table, key: str, question: Question, answer: str) -> str:
    """`answer`, if the question can be answered so."""
    if answer not in ANSWERS[question]:
        raise table.wrong(key, f"cannot hold {answer!r}: {question.value} is answered {', '.join(ANSWERS[question])}")
    return answer


def _minutes(table: Table, key: str) -> dt.timedelta:
    return dt.timedelta(minutes=table.needed_number(key, above=0))
