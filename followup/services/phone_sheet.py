"""Every question on one screen, for staff who hear the owner on the phone; and what the answers would mean, unsaved."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from django.utils.translation import gettext as _

from followup.casefile import read_observation
from followup.domain.question_words import Asked, Kind
from followup.domain.questions import CORE, NOT_SURE, QUESTIONS
from followup.domain.suits import suits
from followup.domain.terms import Observer, Species
from followup.domain.told import CLOCK, buttons
from followup.domain.triage import triage
from followup.domain.understood import Answered, facts_of, says_anything
from followup.domain.verdict import Verdict
from followup.domain.why_silent import WHY_SILENT, why_of
from followup.models import Plan
from followup.services.check_in_page import asks_why
from followup.services.facts import case_to_ask, hours_of, readable, recovery_of
from followup.services.odd_answer import fault_in

IN_EVERY_CALL = frozenset({*CORE, WHY_SILENT})
Answers = Mapping[str, Sequence[str]]
"""What was chosen or typed, by observation key; a question without an answer has no key."""


@dataclass(frozen=True)
class Choice:
    """One answer to choose."""

    value: str
    words: str
    chosen: bool


@dataclass(frozen=True)
class PhoneQuestion:
    """One question. `typed` is what its text field holds, `fault` why that cannot be taken."""

    key: str
    kind: str
    heading: str
    choices: tuple[Choice, ...]
    typed: str
    fault: str


@dataclass(frozen=True)
class PhoneSheet:
    """`core` is asked in every call; `more` is opened by what the owner says."""

    core: tuple[PhoneQuestion, ...]
    more: tuple[PhoneQuestion, ...]


def phone_sheet(plan: Plan, answers: Answers, faults: Mapping[str, str], *, now: dt.datetime) -> PhoneSheet:
    """The screen at `now`, with what has been chosen and typed so far."""
    asked = [_question(plan, QUESTIONS[key], answers, faults, now) for key in _keys(plan, now)]
    return PhoneSheet(
        core=tuple(each for each in asked if each.key in IN_EVERY_CALL),
        more=tuple(each for each in asked if each.key not in IN_EVERY_CALL),
    )


def faults_in(plan: Plan, answers: Answers, *, now: dt.datetime, again: Mapping[str, str]) -> dict[str, str]:
    """Why an answer cannot be taken, by key. `again`: what was asked about already, and may stand if it is the same."""
    found = {
        key: fault_in(plan, key, values, now=now, again=again.get(key) == values[0]) for key, values in answers.items()
    }
    return {key: fault for key, fault in found.items() if fault}


def what_if(plan: Plan, answers: Answers, *, now: dt.datetime) -> Verdict | None:
    """The verdict if these answers were saved now; None: it cannot be said. Reads; writes nothing."""
    return readable(lambda: _weighed(plan, answers, now=now), otherwise=None)


def _weighed(plan: Plan, answers: Answers, *, now: dt.datetime) -> Verdict:
    answered = [Answered(key, tuple(values), now) for key, values in answers.items()]
    facts = facts_of(answered, at=now, by=Observer.STAFF, hours=hours_of(plan), since=plan.surgery_ended_at)
    known = recovery_of(plan)
    told = why_of(answers.get(WHY_SILENT, ()), now)
    known = replace(known, why_silent=(*known.why_silent, *([told] if told is not None else ())))
    if says_anything(facts):
        known = replace(known, observations=(*known.observations, read_observation(facts)))
    return triage(known, now)


def _keys(plan: Plan, now: dt.datetime) -> Iterator[str]:
    """What every call asks comes first, then why nothing was heard, if so; what does not suit him is left out."""
    case, why = case_to_ask(plan), asks_why(plan, now)
    order = [*CORE, WHY_SILENT, *(key for key in QUESTIONS if key not in {*CORE, WHY_SILENT})]
    return (key for key in order if suits(key, case) and (why or key != WHY_SILENT))


def _question(plan: Plan, asked: Asked, answers: Answers, faults: Mapping[str, str], now: dt.datetime) -> PhoneQuestion:
    chosen = answers.get(asked.key, ())
    words = {"patient": plan.patient.name, "since": _("the last time")}
    offered = [(value, text % words) for value, text in _offered(plan, asked, now)]
    known = {value for value, _words in offered}
    return PhoneQuestion(
        key=asked.key,
        kind=asked.kind.value,
        heading=_(asked.words) % words,
        choices=tuple(Choice(value, text, value in chosen) for value, text in offered),
        typed=next((value for value in chosen if value not in known), "") if asked.kind is not Kind.CHOICE else "",
        fault=faults.get(asked.key, ""),
    )


def _offered(plan: Plan, asked: Asked, now: dt.datetime) -> Iterator[tuple[str, str]]:
    if asked.kind is Kind.WHEN:
        for when in buttons(now, hours_of(plan), since=plan.surgery_ended_at):
            if not CLOCK.match(when.value):
                yield when.value, _(when.words)
    else:
        yield from ((value, _(text)) for value, text in asked.answers_for(Species(plan.patient.species)))
    if asked.kind is Kind.SEVERAL:
        yield "none", _("None of these")
    if asked.unsure is not None:
        yield NOT_SURE, _("I am not sure")
