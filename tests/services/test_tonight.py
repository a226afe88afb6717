"""The last advice of the evening: the hour of the night at which it is worse, what to look for, whom to phone."""

from __future__ import annotations

import pytest

from followup.domain.terms import Level
from followup.models import Flag, Message, Plan
from followup.services.advice import advice_for
from followup.services.tell import tell_owner
from tests import world
from tests.services.silent import owner_says
from tests.world import at

pytestmark = pytest.mark.django_db

EVENING = at("20:46")


@pytest.fixture
def plan() -> Plan:
    made = world.running_plan()
    made.look_again_at = at("02:10", day=1)
    made.save()
    return made


def test_the_evenings_advice_names_the_hour_what_to_look_for_and_the_number_that_answers_then(plan):
    said = advice_for(plan, Level.MONITOR, now=EVENING).tonight

    assert said == (
        "If nothing is better by 02:10, get up and look at Pip. Not eating, no droppings, dull, or bleeding? "
        "Do not wait for the morning. Phone Night vets for guinea pigs then: 01632 960200."
    )


@pytest.mark.parametrize(
    ("level", "now", "rises"),
    [
        (Level.EMERGENCY, EVENING, at("02:10", day=1)),  # he phones now
        (Level.MONITOR, EVENING, at("21:30")),
        (Level.MONITOR, EVENING, at("08:00", day=1)),
        (Level.MONITOR, EVENING, None),
    ],
)
def test_no_hour_is_named_where_none_of_the_night_matters(plan, level, now, rises):
    plan.look_again_at = rises

    assert advice_for(plan, level, now=now).tonight == ""


def test_it_stands_in_the_message_too(plan):
    flag = Flag.objects.create(
        practice=plan.practice,
        plan=plan,
        concern="eating",
        level=Level.URGENT,
        worst=Level.URGENT,
        because="eats less",
        opened_at=EVENING,
        raised_at=EVENING,
        updated_at=EVENING,
    )

    tell_owner(plan, advice_for(plan, Level.URGENT, now=EVENING), flag=flag, key="x", now=EVENING)

    message = plan.messages.get(purpose=Message.Purpose.ADVICE)
    assert "by 02:10, get up and look at Pip" in message.body


def test_the_clock_that_an_answer_starts_is_the_one_that_is_named():
    plan = world.running_plan()
    owner_says(
        plan, at("20:50"), demeanour=["dull"], appetite=["less"], faeces=["none"], last_faeces_at=["16:00"]
    )  # dull with eight hours without droppings is more than dull alone
    plan.refresh_from_db()

    said = advice_for(plan, Level(plan.level), now=at("20:51")).tonight

    assert plan.look_again_at is not None
    assert f"by {plan.look_again_at:%H:%M}, get up" in said


@pytest.mark.parametrize(("level", "begins"), [(Level.ON_TRACK, "Look at Pip once more at 00:00."),
                                               (Level.MONITOR, "If nothing is better by 00:00, get up")])  # fmt: skip
def test_where_nothing_is_bad_nothing_is_said_to_get_better(level, begins):
    plan = world.running_plan()
    Plan.objects.filter(pk=plan.pk).update(look_again_at=at("00:00", day=1))
    plan.refresh_from_db()

    assert advice_for(plan, level, now=at("20:51")).tonight.startswith(begins)
