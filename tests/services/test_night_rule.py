"""The night rule, asserted where messages leave. Source of the table: clinical defaults, 13 (D)."""

from __future__ import annotations

import datetime as dt

import pytest

from clinic.models import Consent, Owner
from followup.domain.terms import Level
from followup.models import Message, Plan, Recipient
from followup.services.dispatch import send_due
from followup.services.links import recipient_for
from tests import world
from tests.services.post import EVENING, Post, message, nothing_waits, state

MINUTE = dt.timedelta(minutes=1)
NIGHT, WAKING = world.at("23:00"), world.at("07:00", day=1)

pytestmark = pytest.mark.django_db


@pytest.fixture
def plan() -> Plan:
    made = world.running_plan()
    nothing_waits(made)
    return made


@pytest.fixture
def robin(plan: Plan) -> Recipient:
    return recipient_for(plan.practice, plan.patient.owner, now=EVENING)


def urgent_or_worse(plan: Plan, level: Level):
    return plan.flags.create(
        practice=plan.practice,
        concern="eating",
        level=level,
        worst=level,
        because="no food for 13 h",
        opened_at=NIGHT,
        raised_at=NIGHT,
        updated_at=NIGHT,
    )


def agrees_to_be_woken(owner: Owner) -> None:
    Consent.objects.create(practice=owner.practice, owner=owner, kind="wake_me_at_night", given=True, at=EVENING)


ADVICE, WELCOME, CHECK_IN = Message.Purpose.ADVICE, Message.Purpose.WELCOME, Message.Purpose.CHECK_IN


@pytest.mark.parametrize(
    ("purpose", "level", "agreed", "wrote_minutes_ago", "goes"),
    [
        (CHECK_IN, None, True, None, False),
        (WELCOME, None, False, None, True),
        (ADVICE, Level.EMERGENCY, True, None, True),
        (ADVICE, Level.EMERGENCY, False, None, False),
        (ADVICE, Level.URGENT, True, None, False),
        (ADVICE, Level.URGENT, False, 10, True),
        (ADVICE, Level.URGENT, False, 11, False),
    ],
)
def test_what_may_reach_an_owner_at_23_00(  # noqa: PLR0913, PLR0917 - one row of the table
    plan, robin, purpose, level, agreed, wrote_minutes_ago, goes
):
    flag = urgent_or_worse(plan, level) if level is not None else None
    if agreed:
        agrees_to_be_woken(robin.person)
    if wrote_minutes_ago is not None:
        plan.replies.create(
            practice=plan.practice,
            recipient=robin,
            client_id="x",
            raw={},
            received_at=NIGHT - wrote_minutes_ago * MINUTE,
        )
    row = message(plan, to=robin, now=NIGHT, purpose=purpose, flag=flag)

    assert send_due(now=NIGHT, choose=Post()) == int(goes)

    assert state(row) == (Message.State.SENT if goes else Message.State.READY)
    assert plan.events.filter(what="kept_for_waking").count() == int(not goes)
    if not goes:
        assert (row.not_before, row.attempts) == (WAKING, 0)


def test_a_carer_who_goes_to_bed_late_is_asked_by_his_own_hours(plan):
    night_owl = world.owner(plan.practice, wakes=dt.time(9), sleeps=dt.time(1))
    carer = recipient_for(plan.practice, night_owl, part=Recipient.Part.CARER, now=EVENING)
    row = message(plan, to=carer, now=NIGHT)

    assert send_due(now=NIGHT, choose=Post()) == 1
    assert state(row) == Message.State.SENT


def test_advice_on_the_same_flag_wakes_at_most_once_an_hour(plan, robin):
    flag = urgent_or_worse(plan, Level.EMERGENCY)
    agrees_to_be_woken(robin.person)
    post = Post()
    for number, moment in enumerate([NIGHT, NIGHT + 59 * MINUTE]):
        message(plan, to=robin, now=moment, key=f"a{number}", purpose=ADVICE, flag=flag)
        send_due(now=moment, choose=post)
    assert len(post.letters) == 1

    message(plan, to=robin, now=NIGHT + 60 * MINUTE, key="after an hour", purpose=ADVICE, flag=flag)
    send_due(now=NIGHT + 60 * MINUTE, choose=post)
    assert len(post.letters) == 2


def test_what_woke_nobody_does_not_count_towards_the_hour(plan, robin):
    """Urgent advice before bed, an emergency decided at sleep a minute less than an hour later."""
    flag = urgent_or_worse(plan, Level.EMERGENCY)
    agrees_to_be_woken(robin.person)
    post = Post()
    asleep = world.at("22:00")
    for number, moment in enumerate([asleep - 59 * MINUTE, asleep]):
        message(plan, to=robin, now=moment, key=f"a{number}", purpose=ADVICE, flag=flag)
        send_due(now=moment, choose=post)

    assert len(post.letters) == 2


def test_an_emergency_within_the_hour_goes_when_the_hour_is_over_and_not_on_waking(plan, robin):
    flag = urgent_or_worse(plan, Level.EMERGENCY)
    agrees_to_be_woken(robin.person)
    post = Post()
    message(plan, to=robin, now=NIGHT, key="first", purpose=ADVICE, flag=flag)
    send_due(now=NIGHT, choose=post)
    second = message(plan, to=robin, now=NIGHT + 20 * MINUTE, key="second", purpose=ADVICE, flag=flag)
    for minutes in (20, 59):
        send_due(now=NIGHT + minutes * MINUTE, choose=post)
    assert (state(second), second.not_before) == (Message.State.READY, NIGHT + 60 * MINUTE)

    send_due(now=NIGHT + 60 * MINUTE, choose=post)
    assert (len(post.letters), state(second)) == (2, Message.State.SENT)


def test_what_was_kept_for_waking_goes_out_on_waking(plan, robin):
    message(plan, to=robin, now=NIGHT)
    post = Post()

    for moment in (NIGHT, WAKING - MINUTE, WAKING):
        send_due(now=moment, choose=post)

    assert len(post.letters) == 1
    assert plan.events.filter(what="kept_for_waking").count() == 1
