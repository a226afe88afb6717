"""An urgent case that nobody takes: it goes on to people by itself. Source: clinical defaults, 1 and 13.

Open Monday to Friday 08:00 to 18:30, Saturday to noon; 10 March 2025 is a Monday. Pip is a guinea pig of the first day.
"""

from __future__ import annotations

import datetime as dt

import pytest

from clinic.models import Owner, Role, Staff
from followup.domain.terms import Level
from followup.models import Flag, Message, Plan
from followup.services.call_people import call_people
from followup.services.due import next_due
from followup.services.escalate import acknowledge, escalate
from followup.services.gather import gather
from followup.services.people import first_recipients
from tests import world
from tests.services.calling import EMAIL, both, called, told
from tests.services.silent import staff_writes
from tests.world import at

MINUTE = dt.timedelta(minutes=1)
MORNING = at("09:00", day=5)
"""Saturday: open until noon, and the gut is not at risk any more."""

pytestmark = pytest.mark.django_db


@pytest.fixture
def plan() -> Plan:
    made = world.running_plan()
    made.messages.all().delete()
    return made


@pytest.fixture
def vets(plan: Plan) -> list[Staff]:
    return [world.staff(plan.practice, Role.VET, f"{name} Vet") for name in ("First", "Second", "Third")]


def test_unseen_for_an_hour_of_opening_time_it_goes_to_the_first_on_duty_then_to_the_next(plan, vets):
    for position, who in enumerate(vets, start=1):
        world.on_call(plan.practice, who, position=position)
    called(plan, MORNING)

    moments = {minute: told(MORNING + minute * MINUTE) for minute in (0, 59, 60, 119, 120, 179)}

    assert moments == {
        0: [], 59: [], 60: [("First", EMAIL)], 119: [], 120: both("First", "Second"), 179: [],
    }  # fmt: skip


def test_after_an_outage_nobody_is_woken_at_night_for_what_the_owner_sleeps_through(plan, vets):
    for position, who in enumerate(vets, start=1):
        world.on_call(plan.practice, who, position=position, days=30)
    called(plan, at("09:00", day=7))  # and nothing was sent from then on

    assert told(at("02:00", day=9)) == []
    assert told(at("06:59", day=9)) == []
    assert told(at("07:00", day=9)) == [(name, EMAIL) for name in ("First", "Second", "Third")]


def test_at_the_limit_everyone_on_the_rota_is_told(plan, vets):
    for position, who in enumerate(vets, start=1):
        world.on_call(plan.practice, who, position=position)
    flag = called(plan, at("08:00", day=7))
    for hours in (1, 2, 3):
        escalate(now=at("08:00", day=7) + hours * 60 * MINUTE)

    assert (flag.speak_by, told(at("12:00", day=7))) == (at("12:00", day=7), both("First", "Second", "Third"))


def test_without_a_rota_in_opening_hours_vets_and_administrators_are_on_duty(plan, vets):
    world.staff(plan.practice, Role.NURSE, "Nurse Person")
    called(plan, MORNING)

    assert told(MORNING + 60 * MINUTE) == [("First", EMAIL)]
    assert told(MORNING + 120 * MINUTE) == both("First", "Second")


def test_the_message_says_urgent_and_by_when_and_never_emergency(plan, vets):
    world.on_call(plan.practice, vets[0])
    called(plan, MORNING)
    escalate(now=MORNING + 60 * MINUTE)

    message = Message.objects.get(audience="staff")
    assert message.subject == "URGENT Pip, guinea pig, day 5: speak to the owner by 21:00"
    assert "Speak to Robin" in message.body
    assert "EMERGENCY" not in message.subject + message.body


def test_a_limit_on_another_day_is_named_with_its_day(plan):
    called(plan, at("23:30", day=5))  # told at night: 12 hours
    world.on_call(plan.practice, world.staff(plan.practice, Role.VET, "First Vet"))
    Flag.objects.update(next_alert_at=at("23:45", day=5))
    escalate(now=at("23:45", day=5))

    assert "by Sun 11:30" in Message.objects.get(audience="staff").subject


def test_a_guinea_pig_in_its_first_days_does_not_wait_for_the_next_opening(plan, vets):
    world.on_call(plan.practice, vets[0])
    flag = called(plan, at("19:00"))

    assert flag.speak_by == at("22:00")  # his owner's bedtime, the same day
    assert told(at("19:00")) == [("First", EMAIL)]


def test_later_it_waits_for_opening_when_that_is_in_time(plan, vets):
    world.on_call(plan.practice, vets[0])
    called(plan, at("21:00", day=6))

    assert (told(at("21:00", day=6)), told(at("08:59", day=7))) == ([], [])
    assert told(at("09:00", day=7)) == [("First", EMAIL)]


def test_nobody_in_time_tells_the_owner_at_once_whom_to_phone_today_and_staff_at_opening(plan, vets):
    flag = called(plan, at("19:00"))

    assert told(at("19:00")) == [(plan.patient.owner.name.split()[0], EMAIL)]
    advice = Message.objects.get(purpose=Message.Purpose.ADVICE)
    for words in ("Phone today at 22:00 at the latest", "Night vets for guinea pigs", "01632 960200", "Nobody at"):
        assert words in advice.body
    assert "alerted" not in advice.body
    flag.refresh_from_db()
    assert flag.owner_told == "Phone today at 22:00 at the latest"
    assert plan.events.filter(what="nobody_on_call").count() == 1
    assert told(at("21:59")) == []
    assert told(at("08:00", day=1)) == both("First", "Second", "Third")  # the limit is over: everyone


def test_who_was_written_that_already_is_not_written_it_twice(plan):
    flag = called(plan, at("19:00"))
    moments = {"due_at": at("19:00"), "not_before": at("19:00"), "expires_at": at("22:00")}
    (owner,) = first_recipients(plan, now=at("19:00"))
    flag.messages.create(
        practice=plan.practice, plan=plan, audience="owner", recipient=owner, medium=EMAIL, purpose="advice", **moments
    )

    assert told(at("19:00")) == []


def test_an_owner_whose_clock_cannot_be_read_hides_nothing(plan, vets):
    Owner.objects.update(time_zone="Nowhere/At all")
    world.on_call(plan.practice, vets[0])
    plan = Plan.objects.get(pk=plan.pk)
    called(plan, at("19:00"))

    assert told(at("19:00")) == [("First", EMAIL)]


def test_who_has_it_is_left_in_peace_and_is_not_asked_for_an_outcome(plan, vets):
    world.on_call(plan.practice, vets[0])
    flag = called(plan, at("19:00"))
    acknowledge(flag, staff=vets[1], now=at("19:02"))

    assert [told(at("19:00") + minutes * MINUTE) for minutes in (3, 40, 60, 180, 800)] == [[]] * 5
    flag.refresh_from_db()
    assert (flag.acknowledged_by, flag.next_alert_at) == (vets[1], None)


def test_a_good_answer_does_not_end_it_since_only_a_person_does(plan, vets):
    world.on_call(plan.practice, vets[0])
    flag = called(plan, at("19:00"), concern="eating")
    gather(plan, {}, {}, now=at("19:10"))
    flag.refresh_from_db()

    assert flag.level == Level.ON_TRACK
    assert told(at("19:15")) == [("First", EMAIL)]


def test_raised_to_an_emergency_it_alerts_at_once_whoever_had_it(plan, vets):
    world.on_call(plan.practice, vets[0])
    flag = called(plan, at("19:00"))
    acknowledge(flag, staff=vets[1], now=at("19:02"))
    flag.refresh_from_db()
    flag.level = flag.worst = Level.EMERGENCY
    call_people(flag, now=at("19:30"))

    assert told(at("19:30")) == [("First", EMAIL)]
    assert told(at("19:35")) == both("First")
    assert Message.objects.filter(subject__startswith="EMERGENCY").count() == 3


def test_an_emergency_that_has_fallen_to_urgent_keeps_the_steps_of_an_emergency(plan, vets):
    world.on_call(plan.practice, vets[0])
    flag = called(plan, at("19:00"), level=Level.EMERGENCY)
    told(at("19:00"))
    Flag.objects.filter(pk=flag.pk).update(level=Level.URGENT)

    assert told(at("19:05")) == both("First")


def test_a_call_that_staff_wrote_down_is_seen_but_what_it_brings_up_is_not(plan, vets):
    seen, now = called(plan, MORNING), MORNING + 10 * MINUTE
    staff_writes(plan, now, appetite=["normal"], worried=["very"])

    seen.refresh_from_db()
    new = plan.flags.get(concern="worry")
    assert (str(seen.acknowledged_by), seen.next_alert_at) == ("Front desk of Elm Street Clinic", None)
    assert (new.acknowledged_at, new.next_alert_at) == (None, now + 60 * MINUTE)


def test_two_ticks_at_the_same_moment_tell_once(plan, vets):
    world.on_call(plan.practice, vets[0])
    called(plan, at("19:00"))

    assert (len(told(at("19:00"))), len(told(at("19:00")))) == (1, 0)


def test_the_demo_clock_stops_at_the_next_alert(plan):
    plan.check_ins.all().delete()
    plan.doses.all().delete()
    plan.notices.all().delete()
    Plan.objects.update(look_again_at=None)
    called(plan, MORNING)

    assert next_due(MORNING) == MORNING + 60 * MINUTE
