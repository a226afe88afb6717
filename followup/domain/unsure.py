""" "I am not sure": since when it has been said about a topic without an answer. Never normal.

What it gives by itself stands in the protocols. Source: clinical defaults, 6.7 (D).
"""

from __future__ import annotations

import datetime as dt

from followup.domain.answers import Question, Unsure
from followup.domain.recovery import Recovery

ANSWERED_BY: dict[Unsure, tuple[Question, ...]] = {
    Unsure.APPETITE: (Question.APPETITE,),
    Unsure.FAECES: (Question.FAECES,),
    Unsure.URINE: (Question.URINE,),
    Unsure.DEMEANOUR: (Question.DEMEANOUR,),
    Unsure.BREATHING: (Question.BREATHING,),
    Unsure.WOUND: (Question.EDGES, Question.REDNESS, Question.SWELLING, Question.DISCHARGE, Question.BLEEDING),
    Unsure.DRINKING: (Question.DRINKING,),
    Unsure.GUMS: (Question.GUMS,),
    Unsure.STITCHES: (Question.STITCHES,),
}
"""The questions any answer to which ends a doubt. A weight is no question with answers."""


def standing_unsure(recovery: Recovery, topic: Unsure) -> tuple[dt.datetime, ...]:
    """When "not sure" was said about `topic` since the last answer to it, oldest first."""
    questions = ANSWERED_BY.get(topic, ())
    since: list[dt.datetime] = []
    for seen in recovery.observations:
        if any(question in seen.answers for question in questions):
            since = []
        if topic in seen.not_sure:
            since.append(seen.at)
    return tuple(since)
