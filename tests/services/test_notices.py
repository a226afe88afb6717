"""Dates beyond the follow-up: kept apart two weeks more, together again, and how it turned out on day 30.

Days after surgery: a castrated guinea pig stays apart for 42, a dog for 30 (clinical defaults, 10).
"""

from __future__ import annotations

import datetime as dt

import pytest

from clinic.models import Role
from followup.domain.terms import Outcome
from followup.models import Event, Message, Notice, Plan
from followup.services.admit import admit
from followup.services.died import record_death
from followup.services.due import next_due
from followup.services.facts import hours_of
from followup.services.notices import send_notices
from followup.services.owner_moves import NewHours, owner_moves
from followup.services.sign_off import sign_off
from followup.services.take_back import take_back
from followup.services.wound_review import WoundLook, look_at_wound
from tests.world import at, running_plan, staff

pytestmark = pytest.mark.django_db


@pytest.fixture
def plan() -> Plan:
    return running_plan()


def signed_off(plan: Plan) -> Plan:
    vet = staff(plan.practice)
    for due in plan.wound_reviews.all():
        look_at_wound(due, WoundLook("dry", "go on"), staff=vet, now=at("09:00", day=due.day))
    sign_off(plan, staff=vet, outcome=Outcome.NONE, now=at("09:00", day=14))
    return plan


def dates(plan: Plan) -> list[str]:
    zone = hours_of(plan).zone
    return [f"{each.kind} {each.at.astimezone(zone):%Y-%m-%d %H:%M}" for each in plan.notices.order_by("at")]


def told(plan: Plan) -> list[str]:
    found = plan.messages.filter(purpose=Message.Purpose.NEWS, key__startswith="notice:")
    return [message.subject for message in found.order_by("pk")]


def test_a_castrated_guinea_pig_has_three_dates_by_the_owners_clock(plan):
    """Surgery on 10 March 2025; the clocks go forward on the 30th, and noon stays noon."""
    assert dates(plan) == [
        "apart_soon 2025-04-07 12:00",
        "day_30 2025-04-09 18:30",
        "apart_over 2025-04-21 12:00",
    ]


def test_noon_stays_noon_when_the_clock_changes_between_the_two_dates():
    plan = running_plan(day=dt.date(2025, 2, 10))
    assert dates(plan)[0] == "apart_soon 2025-03-10 12:00"
    assert dates(plan)[-1] == "apart_over 2025-03-24 12:00"
    plan = running_plan(day=dt.date(2025, 2, 24))
    assert dates(plan)[0] == "apart_soon 2025-03-24 12:00"
    assert dates(plan)[-1] == "apart_over 2025-04-07 12:00"


def test_a_spayed_rabbit_is_only_asked_how_it_turned_out():
    assert dates(running_plan("rabbit")) == ["day_30 2025-04-09 18:30"]


def test_they_go_out_after_the_sign_off_once_each_on_their_day(plan):
    signed_off(plan)
    send_notices(now=at("11:59", day=28))
    assert told(plan) == []
    for _again in range(2):
        send_notices(now=at("12:00", day=28))
    assert told(plan) == ["Pip: two more weeks apart"]
    send_notices(now=at("18:30", day=30))
    send_notices(now=at("12:00", day=42))
    assert told(plan)[1:] == ["How did it turn out for Pip?", "Pip may be with females again"]


def test_whoever_sleeps_until_something_is_due_wakes_for_them(plan):
    signed_off(plan)
    assert next_due(at("09:00", day=20)) == at("12:00", day=28)


def test_in_a_clinic_nothing_is_sent_and_it_is_made_up_for_within_a_week(plan):
    admit(plan, staff=staff(plan.practice), why="gut stasis", now=at("12:00", day=3))
    send_notices(now=at("12:00", day=28))
    assert told(plan) == []


def test_nothing_is_sent_after_a_death(plan):
    signed_off(plan)
    record_death(plan.patient, said_by="the owner", now=at("09:00", day=20))
    send_notices(now=at("12:00", day=28))
    assert told(plan) == []
    assert next_due(at("12:00", day=28)) is None


def test_nothing_is_sent_of_an_enrolment_that_was_taken_back(plan):
    take_back(plan, staff=staff(plan.practice), now=plan.confirmed_at)
    send_notices(now=at("12:00", day=28))
    assert told(plan) == []


def test_too_late_to_be_of_use_is_left_and_said_in_the_history(plan):
    signed_off(plan)
    send_notices(now=at("12:01", day=35))
    assert told(plan) == ["How did it turn out for Pip?"]
    (left,) = Event.objects.filter(plan=plan, what="notice_left")
    assert "two weeks until he may be with females again: too late" in left.text


def test_a_change_of_the_owners_hours_moves_what_has_not_gone_out(plan):
    hours = NewHours("America/New_York", dt.time(7), dt.time(22))
    owner_moves(plan.patient.owner, hours, staff=staff(plan.practice, Role.FRONT_DESK), now=at("12:00", day=1))
    plan.refresh_from_db()
    assert dates(plan) == [
        "apart_soon 2025-04-07 12:00",
        "day_30 2025-04-09 18:30",
        "apart_over 2025-04-21 12:00",
    ]
    assert plan.notices.get(kind=Notice.Kind.DAY_30).at == dt.datetime(2025, 4, 9, 22, 30, tzinfo=dt.UTC)
