"""An owner who lives by another clock: what is to come is worked out anew, what is over stays."""

from __future__ import annotations

import datetime as dt

import pytest

from clinic.models import Role
from followup.domain.terms import FollowUpError
from followup.models import CheckIn, Dose, Message, Plan
from followup.services.facts import hours_of
from followup.services.owner_moves import NewHours, owner_moves
from tests.world import at, facts, running_plan, staff

pytestmark = pytest.mark.django_db

NOW = at("12:00", day=1)
NEW_YORK = NewHours("America/New_York", dt.time(7), dt.time(22))


@pytest.fixture
def plan() -> Plan:
    return running_plan()


def moves(plan: Plan, hours: NewHours = NEW_YORK, now: dt.datetime = NOW) -> int:
    return owner_moves(plan.patient.owner, hours, staff=staff(plan.practice, Role.FRONT_DESK), now=now)


def local(plan: Plan, rows) -> list[str]:
    zone = hours_of(plan).zone
    return [f"{row.at.astimezone(zone):%d %H:%M}" for row in rows]


def test_doses_and_check_ins_to_come_move_to_the_new_clock(plan):
    assert moves(plan) == 1
    plan.refresh_from_db()
    assert hours_of(plan).zone.key == "America/New_York"
    assert plan.patient.owner.time_zone == "America/New_York"
    assert local(plan, plan.doses.filter(state=Dose.State.PLANNED, at__gt=NOW)) == ["12 07:00"]
    asked = local(plan, plan.check_ins.filter(state=CheckIn.State.PLANNED, at__gt=NOW))
    assert asked[:3] == ["11 18:30", "12 07:30", "12 18:30"]
    assert local(plan, plan.check_ins.filter(day=14, state=CheckIn.State.PLANNED)) == ["24 18:30"]
    assert [f"{review.due_at.astimezone(hours_of(plan).zone):%d %H:%M}" for review in plan.wound_reviews.all()] == [
        "13 12:00",
        "20 12:00",
    ]


def test_the_owner_is_told_once(plan):
    moves(plan)
    (news,) = plan.messages.filter(purpose=Message.Purpose.NEWS)
    assert "meloxicam 0.5 mg/ml: next dose tomorrow at 07:00" in news.body
    assert "We ask you at other times from now on." in news.body


def test_the_same_hours_again_change_nothing_for_the_owner(plan):
    before = set(plan.doses.values_list("pk", flat=True)), set(plan.check_ins.values_list("pk", flat=True))
    moves(plan, NewHours("Europe/London", dt.time(7), dt.time(22)))
    assert (set(plan.doses.values_list("pk", flat=True)), set(plan.check_ins.values_list("pk", flat=True))) == before
    assert not plan.messages.filter(purpose=Message.Purpose.NEWS).exists()


def test_hours_in_which_a_medicine_cannot_be_given_are_refused_and_nothing_is_lost():
    twice = facts()["home_medication"][0] | {"every_hours": 12, "mg_per_kg": 0.05}
    plan = running_plan(home_medication=[twice])
    with pytest.raises(FollowUpError, match="Nothing was changed"):
        moves(plan, NewHours("Europe/London", dt.time(10), dt.time(21)))
    plan.refresh_from_db()
    plan.patient.owner.refresh_from_db()
    assert (plan.version, plan.patient.owner.wakes) == (1, dt.time(7))
    assert plan.doses.filter(state=Dose.State.PLANNED).count() == 4


def test_hours_in_which_nobody_is_ever_there_are_refused(plan):
    away: dict[str, object] = {
        "days": ["mon", "tue", "wed", "thu", "fri", "sat", "sun"],
        "from": "06:00",
        "to": "23:00",
    }
    with pytest.raises(FollowUpError):
        moves(plan, NewHours("Europe/London", dt.time(7), dt.time(22), (away,)))


def test_while_it_is_in_a_clinic_only_the_hours_are_kept(plan):
    Plan.objects.update(paused=Plan.Pause.IN_HOSPITAL, admitted_at=NOW)
    moves(plan)
    plan.refresh_from_db()
    assert (plan.version, hours_of(plan).zone.key) == (1, "America/New_York")
