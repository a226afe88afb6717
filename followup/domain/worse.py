"""Whether an animal has been told to be worse since a vet spoke to its owner.

Then the vet's word holds nothing back any more: what time gives is judged in full, with the clocks of now.
Source: clinical defaults, 6.9 (D).
"""

from __future__ import annotations

import datetime as dt

from followup.domain.answers import ANSWERS, Question
from followup.domain.recovery import Recovery

BODY = (
    Question.APPETITE,
    Question.DRINKING,
    Question.FAECES,
    Question.URINE,
    Question.DEMEANOUR,
    Question.BREATHING,
    Question.GUMS,
    Question.BELLY,
    Question.WARMTH,
    Question.MOUTH,
    Question.BALANCE,
    Question.SEIZURE,
)
"""How the whole animal is. A wound that looks worse has rules of its own and says nothing of an empty gut."""


def worse_since(recovery: Recovery, moment: dt.datetime) -> bool:
    """Whether an answer, a sign of pain or a vomit since `moment` is worse than what stood then."""
    then = recovery.until(moment)
    return any(_worse(recovery, then, question, moment) for question in BODY) or _shows_more(recovery, then, moment)


def _worse(recovery: Recovery, then: Recovery, question: Question, moment: dt.datetime) -> bool:
    order = ANSWERS[question]
    stood = max((order.index(seen.answer) for seen in then.standing(question)), default=0)
    return any(order.index(seen.answer) > stood for seen in recovery.answers_to(question) if seen.at > moment)


def _shows_more(recovery: Recovery, then: Recovery, moment: dt.datetime) -> bool:
    before = then.pain_signs()
    known = before[0] if before is not None else frozenset()
    return any(
        bool(seen.pain_signs and seen.pain_signs - known) or bool(seen.vomits)
        for seen in recovery.observations
        if seen.at > moment
    )
