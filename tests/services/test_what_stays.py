"""What an answer leaves standing: a fit until a person has reviewed it; a vague time, which is no hour."""

from __future__ import annotations

import datetime as dt
import uuid

import pytest

from clinic.models import Role
from followup.domain.terms import Level
from followup.models import Plan, Verdict
from followup.services.assess import assess
from followup.services.raw_answers import together
from followup.services.reply import Incoming, take_reply
from followup.services.review import Looked, review
from tests import world

pytestmark = pytest.mark.django_db


def told(plan: Plan, now: dt.datetime, **answers: str) -> None:
    raw = together({key: [value] for key, value in answers.items()})
    desk = world.staff(plan.practice, Role.FRONT_DESK)
    take_reply(plan, Incoming(uuid.uuid4().hex, raw), author=desk, now=now)


def levels(plan: Plan, now: dt.datetime) -> dict[str, Level]:
    verdict = assess(plan, now=now, cause=Verdict.Cause.TIME)
    assert verdict is not None
    return {each.rule: each.level for each in verdict.findings}


def test_a_fit_is_weighed_until_a_person_has_reviewed_it():
    plan = world.running_plan()
    told(plan, world.at("19:00"), appetite="normal", seizure="yes")
    told(plan, world.at("20:45"), appetite="normal", seizure="no")

    assert levels(plan, world.at("20:50"))["seizure"] is Level.EMERGENCY
    flag = plan.flags.open().get(concern="behaviour")
    looked = Looked("a dream: he runs in his sleep", "seen on a film", really=Level.MONITOR)
    review(flag, looked, staff=world.staff(plan.practice), now=world.at("21:00"))

    assert "seizure" not in levels(plan, world.at("21:10"))
    told(plan, world.at("21:30"), appetite="normal", seizure="yes")
    assert levels(plan, world.at("21:31"))["seizure"] is Level.EMERGENCY


def test_eats_as_usual_this_afternoon_calls_nobody():
    """At half past six "this afternoon" may be six hours back; he eats, so at most it is on the list."""
    plan = world.running_plan()
    told(plan, world.at("20:45"), appetite="normal", faeces="normal")
    told(plan, world.at("07:35", day=1), appetite="normal", faeces="normal")
    told(plan, world.at("18:40", day=1), appetite="normal", faeces="normal", last_ate_at="this_afternoon")

    assert levels(plan, world.at("18:41", day=1)) == {"hours_without_food": Level.MONITOR, **MEAL}
    assert max(levels(plan, world.at("20:30", day=1)).values()) is Level.MONITOR


MEAL = {"hours_without_meal": Level.MONITOR}
