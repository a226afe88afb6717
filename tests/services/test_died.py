"""He has died: everything about him ends in one step, from any door, and a vet is asked to ring."""

from __future__ import annotations

import pytest

from followup.models import Dose, Flag, Message, Plan, Task, WoundReview
from followup.services.died import record_death
from followup.services.raw_answers import together
from followup.services.reply import Incoming, take_reply
from tests.owner_world import BEDTIME, pip_at_home
from tests.world import at

pytestmark = pytest.mark.django_db
DIED_AT = at("21:30")


@pytest.fixture
def world():
    made = pip_at_home()
    bad = Incoming("one", together({"breathing": ["laboured"], "appetite": ["none"]}))
    take_reply(made.plan, bad, author=made.recipient, now=BEDTIME)
    return made


def test_everything_ends_and_nothing_automatic_speaks_any_more(world):
    assert Flag.objects.open().exists()
    assert Message.objects.filter(state=Message.State.READY).exists()

    assert record_death(world.patient, said_by="Ada Field", now=DIED_AT)

    world.plan.refresh_from_db()
    assert (world.plan.state, world.plan.outcome, world.plan.closed_at) == (Plan.State.CLOSED, "died", DIED_AT)
    assert world.plan.look_again_at is None
    assert not Message.objects.filter(state=Message.State.READY).exists()
    assert set(world.plan.check_ins.values_list("state", flat=True)) <= {"answered", "cancelled"}
    assert set(world.plan.doses.values_list("state", flat=True)) == {Dose.State.CANCELLED}
    assert {review.cancelled for review in WoundReview.objects.all()} == {True}
    assert not Flag.objects.open().exists()
    assert not Flag.objects.to_alert(at("09:00", day=2)).exists()


def test_the_only_task_left_is_that_a_vet_rings_today(world):
    record_death(world.patient, said_by="Ada Field", now=DIED_AT)

    task = Task.objects.open().get()
    assert (task.kind, task.due_at) == (Task.Kind.PHONE, DIED_AT)
    assert "A vet rings Ada Field today" in task.text


def test_told_twice_it_is_one_death_and_one_call(world):
    assert record_death(world.patient, said_by="Ada Field", now=DIED_AT)
    assert not record_death(world.patient, said_by="a vet", now=DIED_AT, staff=world.vet)

    assert Task.objects.open().count() == 1


def test_an_answer_sent_before_and_arriving_after_wakes_nothing(world):
    record_death(world.patient, said_by="Ada Field", now=DIED_AT)

    late = Incoming("late", together({"breathing": ["laboured"]}))
    taken = take_reply(world.plan, late, author=world.recipient, now=DIED_AT)

    assert taken.advice is None
    assert not Flag.objects.open().exists()
    assert not Message.objects.filter(state=Message.State.READY).exists()
