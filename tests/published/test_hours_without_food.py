"""Six and twelve hours without food, guinea pig and rabbit, at the value itself.

Sources (P): 12 to 24 h without food can start fat breakdown in guinea pigs (Richardson 2012); practice sheets for
rabbits: after surgery contact the clinic at 6 h without eating, call at once at 12 h. The levels are derived (D).
One red answer is never averaged away: a single parameter in the red band calls for a person whatever the sum
(NEWS2, Royal College of Physicians 2017: P).
"""

from __future__ import annotations

import datetime as dt

import pytest

from followup.domain.answers import Question
from followup.domain.observation import Observation, Told
from followup.domain.terms import Sign
from followup.domain.triage import triage
from tests.domain.triage_cases import recovery
from tests.recoveries import at, guinea_pig, rabbit

HOUR, MINUTE = dt.timedelta(hours=1), dt.timedelta(minutes=1)
LAST_ATE = at("2025-03-12 08:00")


def level_after(case, span: dt.timedelta) -> str:
    """The level from hours without food alone, on day 2, last meal told exactly."""
    seen = Observation(
        at=LAST_ATE + span,
        answers={Question.APPETITE: "none", Question.FAECES: "normal"},
        told={Sign.FOOD: Told.exactly(LAST_ATE)},
    )
    found = triage(recovery(case, [seen]), LAST_ATE + span)
    return next((each.level.word for each in found.findings if each.rule == "hours_without_food"), "nothing")


@pytest.mark.parametrize("case", [guinea_pig(), rabbit()])
@pytest.mark.parametrize(
    ("span", "level"),
    [
        (6 * HOUR - MINUTE, "nothing"),
        (6 * HOUR, "urgent"),
        (12 * HOUR - MINUTE, "urgent"),
        (12 * HOUR, "emergency"),
    ],
)
def test_six_and_twelve_hours(case, span, level):
    assert level_after(case, span) == level
