"""Patients of one owner share one message, and one reminder. Clinical defaults, 5 and 7."""

from __future__ import annotations

import datetime as dt

import pytest

from clinic.models import Carer, Owner
from followup.models import CheckIn, Dose, Message, Plan
from tests import world
from tests.services.chasing import CHECK_IN, EVENING, MINUTE, REMINDER, quiet_plan, to, written

pytestmark = pytest.mark.django_db


@pytest.fixture
def plan() -> Plan:
    return quiet_plan()


def second_carer(plan: Plan) -> Owner:
    person = world.owner(plan.practice, name="Second Carer")
    Carer.objects.create(patient=plan.patient, person=person, second=True)
    return person


def clover_of(plan: Plan, at: dt.datetime = EVENING) -> Plan:
    """A rabbit of the same owner with one check-in, at the same time."""
    other = world.running_plan("rabbit", of=plan.patient.owner)
    other.messages.all().delete()
    Dose.objects.all().delete()
    CheckIn.objects.filter(plan=other).update(state=CheckIn.State.CANCELLED)
    about = {"practice": other.practice, "kind": "evening", "day": 0, "questions": []}
    other.check_ins.create(at=at, answer_by=at + 240 * MINUTE, **about)
    return other


def test_two_patients_of_one_owner_share_a_reminder_too(plan):
    carer = second_carer(plan)
    other = clover_of(plan)
    Carer.objects.create(patient=other.patient, person=carer, second=True)
    (asked,) = written(EVENING)
    assert asked.subject == "How are Pip and Clover?"

    (first,) = written(EVENING + 30 * MINUTE)
    assert (first.purpose, to(first), first.check_ins.count()) == (REMINDER, plan.patient.owner, 2)
    assert first.subject == "Have Pip and Clover eaten?"
    (then,) = written(EVENING + 45 * MINUTE)
    assert (to(then), then.check_ins.count()) == (carer, 2)


def test_one_of_two_that_was_answered_is_not_reminded_of(plan):
    other = clover_of(plan)
    written(EVENING)
    CheckIn.objects.filter(plan=other).update(state=CheckIn.State.ANSWERED)

    (first,) = written(EVENING + 30 * MINUTE)

    assert first.subject == "Has Pip eaten?"
    assert first.check_ins.count() == 1


@pytest.mark.parametrize(("minutes", "shares"), [(1, True), (30, True), (31, False)])
def test_check_ins_of_two_patients_within_half_an_hour_share_one_message(plan, minutes, shares):
    later = EVENING + minutes * MINUTE
    clover_of(plan, later)

    (asked,) = written(EVENING)

    assert asked.check_ins.count() == (2 if shares else 1)
    assert len(written(later, purpose=CHECK_IN)) == (0 if shares else 1)


def test_nothing_is_asked_before_its_time_when_nothing_else_is_due(plan):
    plan.doses.all().delete()

    assert written(EVENING - 29 * MINUTE) == []
    assert plan.check_ins.get(at=EVENING).state == CheckIn.State.PLANNED


def test_a_first_reminder_and_another_patients_second_one_to_the_same_person_stay_two(plan):
    """Pip's owner is Clover's second carer: Clover's 45 minutes and Pip's 30 come together."""
    other = world.running_plan("rabbit")
    other.messages.all().delete()
    Dose.objects.all().delete()
    CheckIn.objects.filter(plan=other).update(state=CheckIn.State.CANCELLED)
    earlier = EVENING - 15 * MINUTE
    about = {"practice": other.practice, "kind": "evening", "day": 0, "questions": []}
    other.check_ins.create(at=earlier, answer_by=earlier + 240 * MINUTE, **about)
    Carer.objects.create(patient=other.patient, person=plan.patient.owner, second=True)
    for minutes in (-15, 0, 15):
        written(EVENING + minutes * MINUTE)

    both = written(EVENING + 30 * MINUTE)

    assert {each.subject: (to(each), each.medium) for each in both} == {
        "Has Clover eaten?": (plan.patient.owner, Message.Medium.EMAIL),
        "Has Pip eaten?": (plan.patient.owner, Message.Medium.SMS),
    }
