"""An answer that comes after the end of a follow-up, in words: nobody weighs it any more, so a person reads it."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.translation import gettext as _

from followup.domain.questions import NOT_SURE, QUESTIONS, SKIPPED
from followup.domain.terms import Species
from followup.models import Plan


def late_words(key: str, values: Sequence[str], plan: Plan) -> str:
    """The question and what was answered; empty when there is nothing in it."""
    asked = QUESTIONS.get(key)
    said = [each for each in values if each not in {"", SKIPPED}]
    if asked is None or not said:
        return ""
    about = {"patient": plan.patient.name, "since": _("the end of the follow-up")}
    known = dict(asked.answers_for(Species(plan.patient.species))) | {NOT_SURE: _("I am not sure")}
    answers = [_(known[each]) % about if each in known else each for each in said]
    return f"{_(asked.words) % about} {', '.join(answers)}"
