"""A death, an admission and a sign-off stop one patient's messages at once, those that a worker already has as well."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Callable

import pytest

from clinic.models import Role
from followup.domain.terms import Outcome
from followup.models import Message, Plan
from followup.services.admit import admit
from followup.services.died import record_death
from followup.services.dispatch import send_due
from followup.services.sign_off import sign_off
from followup.services.take_back import take_back
from tests import world
from tests.services.post import EVENING, Post, message, nothing_waits, state

pytestmark = pytest.mark.django_db
LATE = world.at("12:00", day=15)


def _died(plan: Plan) -> None:
    record_death(plan.patient, said_by="Robin", now=EVENING)


def _admitted(plan: Plan) -> None:
    admit(plan, staff=world.staff(plan.practice), why="Bleeding, in our ward.", now=EVENING)


def _signed_off(plan: Plan) -> None:
    plan.wound_reviews.update(cancelled=True)
    plan.check_ins.update(state="answered")
    sign_off(plan, staff=world.staff(plan.practice), outcome=Outcome.MEDICAL_TREATMENT, now=LATE)


STOPS = [_died, _admitted, _signed_off]
Stop = Callable[[Plan], None]


@pytest.fixture
def plan() -> Plan:
    return world.running_plan()


def asked(plan: Plan, now: dt.datetime) -> Message:
    return message(plan, to=nothing_waits(plan), now=now)


def moment(stop: Stop) -> dt.datetime:
    return LATE if stop is _signed_off else EVENING


@pytest.mark.parametrize("stop", STOPS)
def test_what_waits_is_not_sent_any_more(plan, stop):
    row = asked(plan, moment(stop))

    stop(plan)
    post = Post()
    send_due(now=moment(stop), choose=post, audience=Message.Audience.OWNER)

    assert state(row) == Message.State.CANCELLED
    assert [letter.subject for letter in post.letters if letter.subject == row.subject] == []


@pytest.mark.parametrize("stop", STOPS)
def test_what_a_worker_has_and_has_not_begun_to_send_is_recalled(plan, stop):
    row = asked(plan, moment(stop))
    until = moment(stop) + dt.timedelta(seconds=90)
    Message.objects.filter(pk=row.pk).update(
        state=Message.State.LEASED, lease_token=uuid.uuid4(), lease_until=until, attempts=1
    )

    stop(plan)

    assert state(row) == Message.State.CANCELLED
    assert (row.lease_token, row.lease_until) == (None, None)


@pytest.mark.parametrize("stop", STOPS)
def test_another_patient_of_the_same_owner_is_still_asked_about(plan, stop):
    robin = nothing_waits(plan)
    clover = world.running_plan("rabbit", of=plan.patient.owner)
    clover.messages.all().delete()
    row = message(clover, to=robin, now=moment(stop))

    stop(plan)

    assert state(row) == Message.State.READY


def test_an_enrolment_that_is_taken_back_recalls_its_first_message(plan):
    now = plan.confirmed_at + dt.timedelta(minutes=1)

    take_back(plan, staff=world.staff(plan.practice, Role.FRONT_DESK), now=now)

    assert {row.state for row in plan.messages.all()} == {Message.State.CANCELLED}
