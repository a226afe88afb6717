"""What "I am not sure" gives by itself: never normal, for some signs a reason to look.

Source: clinical defaults, 6.7 (D).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from followup.domain.answers import Question, Unsure
from followup.domain.recovery import Recovery
from followup.domain.terms import GRAZERS, Certainty, Concern, Level
from followup.domain.verdict import Finding

SOURCE = "clinical defaults, 6.7 (derived)"
FIRST_DAY = dt.timedelta(hours=24)

_TOPIC: dict[Unsure, tuple[Concern, str, tuple[Question, ...]]] = {
    Unsure.APPETITE: (Concern.EATING, "whether he eats", (Question.APPETITE,)),
    Unsure.FAECES: (Concern.DROPPINGS, "about droppings", (Question.FAECES,)),
    Unsure.URINE: (Concern.URINE, "about urine", (Question.URINE,)),
    Unsure.DEMEANOUR: (Concern.BEHAVIOUR, "how he behaves", (Question.DEMEANOUR,)),
    Unsure.BREATHING: (Concern.BREATHING, "how he breathes", (Question.BREATHING,)),
    Unsure.WOUND: (
        Concern.WOUND,
        "about the wound",
        (Question.EDGES, Question.REDNESS, Question.SWELLING, Question.DISCHARGE, Question.BLEEDING),
    ),
}
_AT_ONCE = frozenset({Unsure.DEMEANOUR, Unsure.BREATHING})


def standing_unsure(recovery: Recovery, topic: Unsure) -> tuple[dt.datetime, ...]:
    """When "not sure" was said about `topic` since the last answer to it, oldest first."""
    questions = _TOPIC[topic][2]
    since: list[dt.datetime] = []
    for seen in recovery.observations:
        if any(question in seen.answers for question in questions):
            since = []
        if topic in seen.not_sure:
            since.append(seen.at)
    return tuple(since)


def unsure_findings(recovery: Recovery) -> Iterator[Finding]:
    """A monitor finding for each "not sure" that stands and matters by itself."""
    for topic, (concern, words, _) in _TOPIC.items():
        said = standing_unsure(recovery, topic)
        if said and _matters(recovery, topic, said):
            yield Finding(
                rule=f"not_sure_{topic.value}",
                concern=concern,
                level=Level.MONITOR,
                certainty=Certainty.POSSIBLE,
                because=f"the owner is not sure {words}",
                source=SOURCE,
                since=said[-1],
            )


def _matters(recovery: Recovery, topic: Unsure, said: tuple[dt.datetime, ...]) -> bool:
    if topic in _AT_ONCE:
        return True
    if topic is Unsure.WOUND:
        return len(said) > 1
    if topic is not Unsure.URINE and recovery.species in GRAZERS:
        return True
    return recovery.case.since_surgery(said[-1]) >= FIRST_DAY
