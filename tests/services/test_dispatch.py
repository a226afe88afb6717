"""Sending what is due: once each, with a worker or two or a dead one; what is late, answered or unwanted stays here."""

from __future__ import annotations

import datetime as dt
import threading
import time
import uuid
from typing import Any

import pytest
from django.db import connection, transaction

from clinic.models import Owner
from followup.domain.delivery import LEASE
from followup.messaging.channel import Outcome, Sent
from followup.models import CheckIn, Dose, Heartbeat, Message, Plan, Recipient, SendAttempt, Task
from followup.services.dispatch import send_due
from followup.services.links import recipient_for
from followup.services.sending_outcome import record
from tests import world
from tests.services.post import DOWN, REFUSED, Post, message, nothing_waits, state

MINUTE = dt.timedelta(minutes=1)
SECOND = dt.timedelta(seconds=1)
EVENING = world.at("18:30")
HOURS = 60 * MINUTE

pytestmark = pytest.mark.django_db


@pytest.fixture
def plan() -> Plan:
    made = world.running_plan()
    nothing_waits(made)
    return made


@pytest.fixture
def robin(plan: Plan) -> Recipient:
    return recipient_for(plan.practice, plan.patient.owner, now=EVENING)


def test_a_sent_message_says_when_and_through_what_and_leaves_one_attempt(plan, robin):
    row = message(plan, to=robin)

    assert send_due(now=EVENING, choose=Post()) == 1

    assert (state(row), row.sent_at, row.sent_through) == (Message.State.SENT, EVENING, "post")
    assert list(row.send_attempts.values_list("number", "outcome")) == [(1, "ok")]
    assert Heartbeat.objects.last_of("sent") == EVENING


def test_a_run_ends_when_its_time_is_over_and_the_next_one_goes_on(plan, robin, monkeypatch):
    monkeypatch.setattr("followup.services.dispatch.GOES_ON_FOR", 0.05)
    for number in range(3):
        message(plan, to=robin, key=f"m{number}")
    post = Post(meanwhile=lambda: time.sleep(0.1))

    assert [send_due(now=EVENING, choose=post) for _ in range(4)] == [1, 1, 1, 0]


def test_sending_inside_a_transaction_is_refused_and_nothing_goes_out(plan, robin):
    message(plan, to=robin)
    post = Post()

    with pytest.raises(RuntimeError, match="durable"), transaction.atomic():
        send_due(now=EVENING, choose=post)

    assert post.letters == []


def test_a_worker_whose_lease_ran_out_changes_nothing_any_more(plan, robin):
    row = message(plan, to=robin)
    taken_over = uuid.UUID("1" * 32)

    def another_worker_takes_it() -> None:
        Message.objects.filter(pk=row.pk).update(lease_token=taken_over)

    send_due(now=EVENING, choose=Post(meanwhile=another_worker_takes_it))

    assert state(row) == Message.State.LEASED
    assert row.lease_token == taken_over
    assert row.send_attempts.get().outcome == SendAttempt.Outcome.STALE


def test_a_message_that_is_being_sent_is_not_taken_by_a_second_worker(plan, robin):
    message(plan, to=robin)
    second = Post()
    first = Post(meanwhile=lambda: send_due(now=EVENING + SECOND, choose=second))

    send_due(now=EVENING, choose=first)

    assert (len(first.letters), len(second.letters)) == (1, 0)


def test_a_worker_that_dies_twice_leaves_a_call_and_no_third_copy(plan, robin):
    row = message(plan, to=robin)
    post, moment = Post(meanwhile=lambda: exec("raise SystemExit")), EVENING  # noqa: S102 - the worker is killed
    for _ in range(2):
        with pytest.raises(SystemExit):
            send_due(now=moment, choose=post)
        assert state(row) == Message.State.LEASED
        moment += LEASE + MINUTE
        send_due(now=moment, choose=Post(REFUSED), audience=Message.Audience.STAFF)  # takes back what is lost
        moment += MINUTE

    assert state(row) == Message.State.PARKED
    assert len(post.letters) == 2
    assert plan.tasks.get(kind=Task.Kind.PHONE).text.endswith("may or may not have arrived")


def test_a_lease_is_counted_from_its_claim_however_long_the_tick_took_before(plan, robin):
    row = message(plan, to=robin)
    seen: list[Any] = []
    post = Post(meanwhile=lambda: seen.append(Message.objects.get(pk=row.pk).lease_until))

    send_due(now=EVENING, choose=post, begun=time.monotonic() - 60)

    assert dt.timedelta(0) <= seen[0] - (EVENING + 60 * SECOND + LEASE) < 10 * SECOND


@pytest.mark.parametrize(("attempt", "least", "most"), [(1, 15, 45), (2, 30, 90), (3, 60, 180), (6, 450, 1350)])
def test_a_retry_waits_30_seconds_doubled_and_half_more_or_less_at_most_a_quarter_of_an_hour(
    plan, robin, attempt, least, most
):
    row = message(plan, to=robin, priority=5)
    Message.objects.update(attempts=attempt - 1)

    send_due(now=EVENING, choose=Post(DOWN))

    assert state(row) == Message.State.READY
    assert least <= (row.not_before - EVENING).total_seconds() <= most


def test_a_retry_is_never_put_off_past_the_end(plan, robin):
    row = message(plan, to=robin, expires_at=EVENING + SECOND)

    send_due(now=EVENING, choose=Post(REFUSED))

    assert state(row) == Message.State.READY
    assert row.not_before == row.expires_at
    send_due(now=EVENING + 2 * SECOND, choose=Post())
    assert state(row) == Message.State.EXPIRED


def test_six_refusals_are_enough_and_then_a_person_phones(plan, robin):
    Owner.objects.update(mobile="")
    row = message(plan, to=robin)
    for number in range(6):
        send_due(now=EVENING + number * 20 * MINUTE, choose=Post(REFUSED))

    assert (state(row), row.attempts) == (Message.State.FAILED, 6)
    assert plan.tasks.filter(kind=Task.Kind.PHONE).count() == 1


def test_a_question_waits_out_a_mail_server_that_is_down_for_two_hours(plan, robin):
    row = message(plan, to=robin)
    for number in range(8):
        send_due(now=EVENING + number * 20 * MINUTE, choose=Post(DOWN))

    assert state(row) == Message.State.READY
    assert row.send_attempts.count() > 6
    assert send_due(now=EVENING + 3 * HOURS, choose=Post()) == 1


def test_a_channel_that_is_set_up_wrongly_keeps_its_messages(plan, robin):
    row = message(plan, to=robin)

    def wrong(_message: Message) -> Post:
        raise ValueError("no such scheme")

    for number in range(8):
        send_due(now=EVENING + number * 15 * MINUTE, choose=wrong)

    assert (state(row), row.unknown_outcomes) == (Message.State.READY, 0)
    assert row.last_error_class == Outcome.CONFIG


def test_one_refused_number_holds_up_nobody_else(plan, robin):
    other = world.running_plan("rabbit")
    clover = nothing_waits(other)
    Owner.objects.update(mobile="")
    bad, good = message(plan, to=robin), message(other, to=clover, key="two")

    class Picky(Post):
        def send(self, letter):
            super().send(letter)
            return Sent(Outcome.PERMANENT, "550") if letter.to == robin.person.email else Sent(Outcome.OK)

    assert send_due(now=EVENING, choose=Picky()) == 1
    assert (state(bad), state(good)) == (Message.State.FAILED, Message.State.SENT)
    assert sorted(plan.tasks.values_list("kind", flat=True)) == [Task.Kind.MEND_ADDRESS, Task.Kind.PHONE]
    assert not other.tasks.exists()


def test_a_question_that_ran_out_unsent_becomes_a_call_and_its_silence_has_a_reason(plan, robin):
    check_in = plan.check_ins.first()
    CheckIn.objects.filter(pk=check_in.pk).update(state=CheckIn.State.ASKED)
    row, post = message(plan, to=robin, check_ins=[check_in], expires_at=EVENING + HOURS), Post()

    send_due(now=EVENING + HOURS, choose=post)

    assert (state(row), post.letters) == (Message.State.EXPIRED, [])
    assert plan.tasks.get(kind=Task.Kind.PHONE).text.endswith("was not sent in time")
    check_in.refresh_from_db()
    assert check_in.could_not_be_asked


def test_after_an_outage_only_the_newest_question_goes_out_and_advice_always(plan, robin):
    old = message(plan, to=robin, collapse_key="check-in")
    advice = message(plan, to=robin, key="advice", purpose=Message.Purpose.ADVICE, priority=1)
    new = message(plan, to=robin, now=EVENING + HOURS, key="new", collapse_key="check-in")

    send_due(now=EVENING + 2 * HOURS, choose=Post())

    assert [state(old), state(advice), state(new)] == ["superseded", "sent", "sent"]


def _overtaken(plan: Plan) -> None:
    """A dose of the message was cancelled after it had been queued."""
    dose = plan.doses.earliest("at")
    plan.messages.get(state=Message.State.READY).doses.add(dose)
    Dose.objects.filter(pk=dose.pk).update(state=Dose.State.CANCELLED)


@pytest.mark.parametrize(
    ("changed", "why"),
    [
        (lambda plan, _: Plan.objects.update(paused=Plan.Pause.WORDS_SAY_DIED), "paused"),
        (lambda plan, _: Recipient.objects.update(stopped_at=EVENING), "messages were stopped"),
        (lambda plan, _: CheckIn.objects.update(state=CheckIn.State.ANSWERED), "answered already"),
        (lambda plan, _: _overtaken(plan), "the plan was changed"),
        (
            lambda plan, _: Plan.objects.update(state=Plan.State.CLOSED, closed_at=EVENING, outcome="well"),
            "the follow-up has ended",
        ),
    ],
)
def test_what_is_no_longer_wanted_is_not_sent(plan, robin, changed, why):
    row, post = message(plan, to=robin, check_ins=[plan.check_ins.first()]), Post()
    changed(plan, robin)

    send_due(now=EVENING, choose=post)

    assert (post.letters, state(row), row.last_error) == ([], Message.State.CANCELLED, why)


def test_an_outcome_without_the_lease_is_not_written(plan, robin):
    row = message(plan, to=robin)

    assert not record(row, Sent(Outcome.OK), "post", now=EVENING)
    assert state(row) == Message.State.READY


@pytest.mark.django_db(transaction=True)
def test_two_workers_at_once_send_each_of_twenty_messages_once():
    plan = world.running_plan()
    robin = nothing_waits(plan)
    for number in range(20):
        message(plan, to=robin, key=f"m{number}")
    posts, gate = [Post(), Post()], threading.Barrier(2)

    def work(post: Post) -> None:
        try:
            gate.wait()
            send_due(now=EVENING, choose=post)
        finally:
            connection.close()

    workers = [threading.Thread(target=work, args=(post,)) for post in posts]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join(60)

    sent = [letter.message_id for post in posts for letter in post.letters]
    assert sorted(sent) == sorted(plan.messages.values_list("message_id", flat=True))
    assert set(plan.messages.values_list("state", flat=True)) == {Message.State.SENT}
