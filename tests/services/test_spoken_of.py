"""Messages that name several patients or ask several things: called off, they name nobody, and it is asked anew."""

from __future__ import annotations

import datetime as dt

import pytest

from clinic.models import Practice
from followup.domain.delivery import LEASE
from followup.models import CheckIn, Dose, Message, Plan
from followup.services import deliver
from followup.services.claim import Claim, claim, queues
from followup.services.died import record_death
from followup.services.dispatch import leave_the_older, take_back_lost_leases
from followup.services.lanes import Lane
from tests.services.chasing import EVENING, MINUTE, quiet_plan, written
from tests.services.post import Post, message, state
from tests.services.test_asking_together import clover_of

pytestmark = pytest.mark.django_db

EMAIL = Lane(alerts=False, medium="email")


@pytest.fixture
def plan() -> Plan:
    return quiet_plan()


def taken(now: dt.datetime = EVENING) -> Claim:
    found = claim(queues(EMAIL, now=now), now=now, until=now + LEASE)
    assert found is not None
    return found


@pytest.mark.parametrize("first", [True, False])
def test_whichever_of_two_has_died_the_message_that_names_both_does_not_leave_and_the_other_is_asked(plan, first):
    other = clover_of(plan)
    (both,) = written(EVENING)
    dead, living = (plan, other) if first else (other, plan)

    record_death(dead.patient, said_by="the owner", now=EVENING)
    assert state(both) == Message.State.CANCELLED

    (alone,) = written(EVENING + MINUTE)
    assert alone.subject == f"How is {living.patient.name}?"
    assert dead.patient.name not in alone.body


@pytest.mark.parametrize("first", [True, False])
def test_a_message_that_a_worker_has_names_no_animal_that_died_meanwhile(plan, first):
    other = clover_of(plan)
    written(EVENING)
    claimed, post = taken(), Post()
    dead, living = (plan, other) if first else (other, plan)
    Plan.objects.filter(pk=dead.pk).update(paused=Plan.Pause.WORDS_SAY_DIED)
    held = Claim(Message.objects.select_related("plan", "recipient__person", "practice").get(), claimed.token)

    deliver.deliver(held, now=EVENING, choose=post)

    assert (post.letters, state(held.message)) == ([], Message.State.CANCELLED)
    assert living.check_ins.get(at=EVENING).state == CheckIn.State.PLANNED


def test_a_question_whose_dose_was_cancelled_meanwhile_is_asked_by_itself(plan):
    dose = plan.doses.filter(state=Dose.State.PLANNED).earliest("at")
    Dose.objects.filter(pk=dose.pk).update(at=EVENING, give_until=EVENING + 60 * MINUTE, reminded_at=None)
    (both,) = written(EVENING)
    assert dose in both.doses.all()
    Dose.objects.filter(pk=dose.pk).update(state=Dose.State.CANCELLED)

    deliver.deliver(taken(), now=EVENING, choose=Post())

    assert state(both) == Message.State.CANCELLED
    (alone,) = written(EVENING + MINUTE)
    assert alone.subject == "How is Pip?"


def test_a_pause_after_the_claim_keeps_the_message(plan):
    (row,) = written(EVENING)
    claimed, post = taken(), Post()
    Practice.objects.update(messages_paused=True)

    deliver.deliver(claimed, now=EVENING, choose=post)

    assert (post.letters, state(row)) == ([], Message.State.READY)


def test_a_lease_lost_before_anything_was_handed_in_is_no_send(plan):
    (row,) = written(EVENING)
    for number in range(3):
        taken(EVENING + number * 2 * LEASE)
        take_back_lost_leases(now=EVENING + (number + 1) * 2 * LEASE)

    assert (state(row), row.unknown_outcomes, row.attempts) == (Message.State.READY, 0, 0)


def test_the_silence_after_a_question_that_was_left_for_a_newer_one_has_a_reason(plan):
    older = plan.check_ins.get(at=EVENING)
    (row,) = written(EVENING)
    assert row.recipient is not None
    message(plan, to=row.recipient, now=EVENING + MINUTE, key="newer", collapse_key=row.collapse_key)

    leave_the_older(now=EVENING + MINUTE)

    older.refresh_from_db()
    assert (state(row), older.could_not_be_asked) == (Message.State.SUPERSEDED, True)
