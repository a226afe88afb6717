"""Why the window for droppings is strict and the one for eating is not.

Source (P): Gleeson 2016, guinea pigs castrated by two methods (n = 14): droppings were unchanged in the 48 h after
castration, food intake was down over those 48 h in both groups. So fewer droppings hours on end are a sign at once and
none are one within the day, while eating less is expected for two days and counts from 48 h on. The hours are derived.
"""

from __future__ import annotations

import datetime as dt

import pytest

from followup.domain.answers import Question
from followup.domain.observation import Observation
from followup.domain.terms import Level, Procedure, Species
from followup.domain.triage import triage
from tests.domain.every_case import case_of
from tests.domain.triage_cases import recovery

BOAR = case_of(Species.GUINEA_PIG, Procedure.CASTRATION)


def told(hours: float, **answers: str):
    at = BOAR.surgery_ended_at + dt.timedelta(hours=hours)
    looks = [
        Observation(at=at - dt.timedelta(hours=10), answers={Question.APPETITE: "less", Question.FAECES: "normal"}),
        Observation(at=at, answers={Question(key): value for key, value in answers.items()}),
    ]
    return triage(recovery(BOAR, looks), at)


@pytest.mark.parametrize(("hours", "level"), [(12, Level.MONITOR), (47, Level.MONITOR), (48, Level.URGENT)])
def test_intake_may_be_down_for_48_hours(hours, level):
    found = told(hours, appetite="less", faeces="normal")

    assert {each.rule for each in found.findings if each.concern.value in {"eating", "droppings"}} == {"eats_less"}
    assert found.level is level


def test_droppings_may_not_stop_within_them():
    """None since the day before: twelve hours of that are an emergency a day after surgery, with eating as expected."""
    looks = [
        Observation(
            at=BOAR.surgery_ended_at + dt.timedelta(hours=hours),
            answers={Question.APPETITE: "less", Question.FAECES: droppings},
        )
        for hours, droppings in ((22, "normal"), (24, "none"), (36, "none"))
    ]
    found = triage(recovery(BOAR, looks), looks[-1].at)

    assert {each.rule: each.level.word for each in found.findings if each.level >= Level.URGENT} == {
        "hours_without_faeces": "emergency"
    }
