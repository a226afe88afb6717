"""Questions, answers, times and levels in the words that staff read in a reason."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence

from followup.domain.answers import PainSign, Question
from followup.domain.bounds import HOUR
from followup.domain.questions import QUESTIONS
from followup.domain.recovery import Recovery
from followup.domain.rules import Step
from followup.domain.sources import Fact
from followup.domain.terms import Level, Sign

SIGN_WORDS = {Sign.FOOD: "food", Sign.MEAL: "a proper meal", Sign.FAECES: "droppings", Sign.URINE: "urine"}
NOT_SURE = "I am not sure"
NO_SIGN = "none of these"
GUMS = "What colour are the gums?"
"""Asked by staff of a cat or a dog; the question is put to no owner."""


def asked(known: Recovery, key: str) -> str:
    """The question of that key as its owner reads it."""
    question = QUESTIONS.get(key)
    if question is None:
        return GUMS if key == Question.GUMS else key.replace("_", " ")
    return question.words % {"patient": known.case.patient.name or "the animal", "since": "the last time"}


def answer_words(fact: Fact) -> str:
    """The answer as the owner reads it."""
    question, answer = fact
    known = QUESTIONS.get(question)
    found = dict(known.answers).get(answer) if known is not None else None
    return found or answer.replace("_", " ")


def quoted(facts: Iterable[Fact]) -> str:
    """ "“Dull …” or “Lies flat …”"."""
    return " or ".join(f"“{answer_words(fact)}”" for fact in facts)


def pain_words(signs: Iterable[PainSign]) -> str:
    """The signs as the owner reads them, in the order in which they are asked."""
    wanted, every = set(signs), QUESTIONS["pain_signs"].answers
    return ", ".join(words for value, words in every if value in wanted) or NO_SIGN


def on_the_clock(known: Recovery, moment: dt.datetime) -> str:
    """A moment on the owner's clock: "Mon 10 Mar 18:30"."""
    return f"{known.case.hours.local(moment):%a %d %b %H:%M}"


def level_words(level: Level) -> str:
    """A level in a sentence; on_track: nothing."""
    return "nothing" if level is Level.ON_TRACK else level.word


def hours_words(span: dt.timedelta) -> str:
    """ "24 h"."""
    return f"{span / HOUR:g} h"


def steps_words(steps: Sequence[Step]) -> str:
    """ "nothing before 24 h after surgery, then monitor before 72 h, then urgent"."""
    parts: list[str] = []
    for step in steps:
        until = (
            "" if step.until is None else f" before {hours_words(step.until)}{' after surgery' if not parts else ''}"
        )
        parts.append(f"{level_words(step.level)}{until}")
    return ", then ".join(parts)
