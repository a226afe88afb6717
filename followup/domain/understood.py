"""Answers as an owner gave them → the facts of one observation, in the case format. Nothing is guessed.

A question that was skipped has no key; "I am not sure" is a fact of its own; a time told between two moments keeps both
ends: the earlier at its key, so that hours without are never under-counted, the later in `told_until`.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from followup.domain.answers import NO, YES
from followup.domain.hours import OwnerHours
from followup.domain.question_words import Asked, Kind
from followup.domain.questions import NOT_SURE, QUESTIONS, SKIPPED, accepts
from followup.domain.terms import FollowUpError, Observer
from followup.domain.told import told_by
from followup.domain.why_silent import WHY_SILENT
from followup.domain.wound_words import GLANCE

Facts = dict[str, object]


class NotUnderstood(FollowUpError):
    """An answer that no question offers: a person reads it."""


@dataclass(frozen=True)
class Answered:
    """One answer as it came: to which question, the values chosen, and when."""

    key: str
    values: tuple[str, ...]
    at: dt.datetime


def facts_of(
    answered: Sequence[Answered], *, at: dt.datetime, by: Observer, hours: OwnerHours, since: dt.datetime
) -> Facts:
    """One observation's facts. A question answered twice counts as last answered. Raises NotUnderstood."""
    facts: Facts = {"at": at.isoformat(), "by": by.value}
    unsure: set[str] = set()
    for each in {answer.key: answer for answer in answered}.values():
        if not accepts(each.key, each.values):
            raise NotUnderstood(f"“{', '.join(each.values)}” is no answer to {each.key}.", field=each.key)
        asked = QUESTIONS[each.key]
        if NOT_SURE in each.values and asked.unsure is not None:
            unsure.add(asked.unsure.value)
        elif SKIPPED not in each.values:
            _put(facts, asked, each, hours, since)
    return facts | ({"not_sure": sorted(unsure)} if unsure else {})


def says_anything(facts: Facts) -> bool:
    """Whether there is any fact beside when and by whom."""
    return bool(set(facts) - {"at", "by"})


def grams(words: str) -> float | None:
    """A weight in grams as people type it: "905", "905 g", "0.9 kg"; None when it is no number."""
    typed = words.strip().lower().replace(",", ".")
    scale = 1000.0 if typed.endswith("kg") else 1.0
    number = typed.removesuffix("kg").removesuffix("g").strip()
    try:
        found = float(number) * scale
    except ValueError:
        return None
    return found if 0 < found < float("inf") else None


def _put(facts: Facts, asked: Asked, each: Answered, hours: OwnerHours, since: dt.datetime) -> None:
    value = each.values[0]
    if asked.key in {GLANCE, WHY_SILENT}:
        return  # "worse" opens the questions that say how; why nothing was heard is no fact about the animal
    if asked.kind is Kind.SEVERAL:
        facts[asked.key] = sorted(set(each.values) - {"none"})
    elif asked.kind is Kind.WHEN:
        _put_when(facts, each, hours, since)
    elif asked.kind is Kind.WEIGHT:
        facts[asked.key] = _weight(value)
    elif value.strip():
        _put_plain(facts, asked, value)


def _put_plain(facts: Facts, asked: Asked, value: str) -> None:
    known: object = value == YES if {word for word, _ in asked.answers} == {NO, YES} else value
    if asked.key == "vomits_since_last":
        known = int(value)
    if asked.key.startswith("wound."):
        wound = facts.setdefault("wound", {})
        if isinstance(wound, dict):
            wound[asked.key.removeprefix("wound.")] = known
    else:
        facts[asked.key] = known


def _put_when(facts: Facts, each: Answered, hours: OwnerHours, since: dt.datetime) -> None:
    when = told_by(each.values[0], each.at, hours, since=since)
    if when is None:
        raise NotUnderstood(f"“{each.values[0]}” is no time that we can read.", field=each.key)
    told = when.told
    facts[each.key] = told.earliest.isoformat() if told is not None else None
    until = facts.setdefault("told_until", {}) if told is not None and told.latest > told.earliest else None
    if told is not None and isinstance(until, dict):
        until[each.key] = told.latest.isoformat()


def _weight(value: str) -> float:
    found = grams(value)
    if found is None:
        raise NotUnderstood(f"“{value}” is no weight that we can read.", field="weight_g")
    return found
