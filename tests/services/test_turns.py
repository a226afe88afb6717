"""After an outage: slowly at first, one message to a person in half an hour; staff, and advice, wait for nobody."""

from __future__ import annotations

import uuid

import pytest

from followup.models import Gap, Message, Plan
from followup.models.gap import SETTLES
from followup.services.gaps import begin
from followup.services.tick import tick
from followup.services.turns import budget, may_go
from tests import world
from tests.services.outages import HOUR, MINUTE, NOON, SECOND, down_until, people
from tests.services.post import DOWN, Post, message, nothing_waits, state

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _own_folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path


@pytest.fixture
def plan() -> Plan:
    made = world.running_plan()
    nothing_waits(made)
    return made


def test_what_had_piled_up_goes_slowly_at_first_and_everybody_gets_one(plan):
    people(plan, 60, now=NOON)
    gap, post = down_until(NOON + HOUR, since=NOON), Post()
    went = []
    for number in range(5):
        tick(now=NOON + HOUR + number * 15 * SECOND, choose=post)
        went.append(len(post.letters))

    assert went == [20, 36, 57, 60, 60]
    gap.refresh_from_db()
    assert (gap.sent, budget(NOON + HOUR + 2 * MINUTE)) == (60, 60)


def test_a_person_gets_one_message_in_half_an_hour_whatever_waits(plan):
    people(plan, 1, now=NOON, each=3)
    down_until(NOON + HOUR, since=NOON)
    post = Post()
    went = {}
    for minutes in range(0, 95, 5):
        tick(now=NOON + HOUR + minutes * MINUTE, choose=post)
        went[minutes] = len(post.letters)

    assert [minutes for minutes in went if went[minutes] > went.get(minutes - 5, 0)] == [0, 30, 60]
    assert set(plan.messages.filter(purpose="news").values_list("attempts", flat=True)) == {1}


def test_of_two_ways_to_one_person_only_one_is_gone_at_a_time(plan):
    people(plan, 1, now=NOON)
    mail = plan.messages.get(key="0-0")
    text = message(plan, to=mail.recipient, now=NOON, key="text", medium=Message.Medium.SMS)
    down_until(NOON + HOUR, since=NOON)
    second = Post()

    def another_worker() -> None:
        tick(now=NOON + HOUR, choose=second)

    tick(now=NOON + HOUR, choose=Post(meanwhile=another_worker))

    assert (state(mail), state(text), second.letters) == (Message.State.SENT, Message.State.READY, [])
    assert NOON + HOUR < text.not_before <= NOON + HOUR + MINUTE


def test_a_place_that_another_worker_took_meanwhile_is_not_taken_twice(plan):
    people(plan, 1, now=NOON)
    gap = down_until(NOON + HOUR, since=NOON)
    row = plan.messages.get()
    lease = {"lease_token": uuid.uuid4(), "lease_until": NOON + 2 * HOUR, "attempts": 1}
    Message.objects.update(state=Message.State.LEASED, **lease)
    Gap.objects.update(paced=20)
    row.refresh_from_db()

    assert not may_go(row, now=gap.ended_at)

    assert (state(row), row.not_before, row.attempts) == (Message.State.READY, gap.ended_at + SECOND, 0)
    gap.refresh_from_db()
    assert (gap.sent, gap.paced) == (0, 20)


@pytest.mark.parametrize("purpose", [Message.Purpose.ADVICE, Message.Purpose.WELCOME])
def test_advice_and_the_first_message_wait_for_nobody(plan, purpose):
    people(plan, 25, now=NOON, each=1)
    gap, post = down_until(NOON + HOUR, since=NOON), Post()
    last = Message.objects.order_by("-pk")[0].recipient
    assert last is not None
    for number in range(2):
        message(plan, to=last, now=NOON + HOUR, key=f"now {number}", purpose=purpose)

    tick(now=NOON + HOUR, choose=post)

    assert plan.messages.filter(purpose=purpose, state=Message.State.SENT).count() >= 2
    gap.refresh_from_db()
    assert gap.sent == len(post.letters) >= 20


def test_alerts_to_staff_are_not_slowed(plan):
    people(plan, 30, now=NOON)
    vet = world.staff(plan.practice)
    for number in range(30):
        Message.objects.create(
            practice=plan.practice,
            audience=Message.Audience.STAFF,
            staff=vet,
            medium=Message.Medium.EMAIL,
            purpose=Message.Purpose.ALERT,
            key=f"alert {number}",
            priority=0,
            subject="Look",
            body="Look",
            due_at=NOON,
            not_before=NOON,
            expires_at=NOON + 48 * HOUR,
        )
    down_until(NOON + HOUR, since=NOON)

    tick(now=NOON + HOUR, choose=Post())

    sent = Message.objects.filter(state=Message.State.SENT)
    assert (sent.filter(audience="staff").count(), sent.filter(audience="owner").count()) == (30, 20)


def test_it_is_over_when_nothing_of_what_had_piled_up_waits_and_ten_minutes_have_passed(plan):
    people(plan, 1, now=NOON, each=2)
    gap = down_until(NOON + HOUR, since=NOON)
    over = {}
    for minutes in (0, 9, 11, 21, 30, 31):
        tick(now=gap.ended_at + minutes * MINUTE, choose=Post())
        gap.refresh_from_db()
        over[minutes] = gap.caught_up_at

    assert minute_of(over, gap) == {0: None, 9: None, 11: None, 21: None, 30: None, 31: 31}
    assert budget(gap.ended_at + 40 * MINUTE) is None


def minute_of(over, gap):
    return {key: value and (value - gap.ended_at) // MINUTE for key, value in over.items()}


def test_with_nothing_piled_up_it_is_over_after_ten_minutes():
    gap = down_until(NOON + HOUR, since=NOON)
    for moment in (SETTLES - SECOND, SETTLES):
        begin(now=gap.ended_at + moment)
        gap.refresh_from_db()

    assert gap.caught_up_at == gap.ended_at + SETTLES


def test_a_second_outage_takes_over_what_the_first_has_left(plan):
    people(plan, 1, now=NOON, each=4)
    first = down_until(NOON + HOUR, since=NOON)
    tick(now=NOON + HOUR, choose=Post())
    tick(now=NOON + 3 * HOUR, choose=Post(DOWN))

    first.refresh_from_db()
    assert first.caught_up_at == NOON + 3 * HOUR
    assert Gap.objects.being_caught_up().get().began_at == NOON + HOUR
