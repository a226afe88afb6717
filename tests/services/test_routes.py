"""A way out that is down is left alone for a while: nothing is tried to no purpose, and no message pays for it."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from clinic.models import Role
from followup.domain.wording import Text
from followup.messaging.channel import Outcome, Sent
from followup.models import Channel, Flag, Message, Plan, Recipient, Route
from followup.services import routes
from followup.services.channel_secrets import encrypt
from followup.services.dispatch import send_due
from followup.services.outbox import queue_to_staff
from tests import world
from tests.services.post import DOWN, EVENING, Post, message, nothing_waits, state

pytestmark = pytest.mark.django_db

MINUTE = dt.timedelta(minutes=1)
EMAIL = "installation:email"


@pytest.fixture
def plan() -> Plan:
    made = world.running_plan()
    nothing_waits(made)
    return made


@pytest.fixture
def robin(plan: Plan) -> Recipient:
    return plan.practice.recipients.get()


def flag_of(plan: Plan) -> Flag:
    moments: dict[str, Any] = {"opened_at": EVENING, "raised_at": EVENING, "updated_at": EVENING}
    return plan.flags.create(practice=plan.practice, concern="eating", level=3, worst=3, **moments)


def several(plan: Plan, robin: Recipient, number: int) -> list[Message]:
    return [message(plan, to=robin, key=f"m{each}") for each in range(number)]


def test_after_three_failures_in_a_row_nothing_more_is_tried(plan, robin):
    rows, post = several(plan, robin, 10), Post(DOWN)

    send_due(now=EVENING, choose=post)

    assert len(post.letters) == 3
    assert {state(row) for row in rows} == {Message.State.READY}
    route = Route.objects.get(pk=EMAIL)
    assert (route.failures, route.since, route.why) == (3, EVENING, "no connection")
    assert route.shut_until == EVENING + MINUTE


def test_a_wrong_set_up_is_not_tried_twice(plan, robin):
    several(plan, robin, 3)
    post = Post(Sent(Outcome.CONFIG, "the mail server refused our log-in (535)", whole_channel=True))

    send_due(now=EVENING, choose=post)

    assert len(post.letters) == 1


def test_when_the_time_is_over_one_message_tries_it_and_another_failure_shuts_it_for_longer(plan, robin):
    several(plan, robin, 10)
    send_due(now=EVENING, choose=Post(DOWN))
    again = Post(DOWN)

    send_due(now=EVENING + MINUTE, choose=again)

    assert len(again.letters) == 1
    assert Route.objects.get(pk=EMAIL).shut_until == EVENING + 3 * MINUTE


def test_it_is_never_shut_for_more_than_a_quarter_of_an_hour(plan, robin):
    message(plan, to=robin, expires_at=EVENING + dt.timedelta(days=2))
    now = EVENING
    for _ in range(12):
        send_due(now=now, choose=Post(DOWN))
        shut_until = Route.objects.get(pk=EMAIL).shut_until or now
        assert shut_until - now <= 15 * MINUTE
        now = max(shut_until, plan.messages.get().not_before)


def test_once_one_gets_through_all_the_others_follow_and_the_failures_are_forgotten(plan, robin):
    rows = several(plan, robin, 10)
    send_due(now=EVENING, choose=Post(DOWN))

    assert send_due(now=EVENING + MINUTE, choose=Post()) >= 7
    route = Route.objects.get(pk=EMAIL)
    assert (route.failures, route.shut_until, route.why, route.last_ok_at) == (0, None, "", EVENING + MINUTE)
    send_due(now=EVENING + 3 * MINUTE, choose=Post())
    assert {state(row) for row in rows} == {Message.State.SENT}


def test_a_refusal_of_one_address_says_that_the_channel_is_there(plan, robin):
    several(plan, robin, 2)
    Route.objects.create(name=EMAIL, failures=2)

    send_due(now=EVENING, choose=Post(Sent(Outcome.PERMANENT, "550")))

    assert Route.objects.get(pk=EMAIL).failures == 0


def test_an_outage_costs_no_message_its_tries(plan, robin):
    row = message(plan, to=robin, expires_at=EVENING + dt.timedelta(days=2))
    for hours in range(10):
        send_due(now=EVENING + hours * 90 * MINUTE, choose=Post(DOWN))
        Message.objects.update(not_before=EVENING)  # whatever it waits for: it is tried each time

    assert state(row) == Message.State.READY


def test_a_provider_that_asks_for_two_minutes_gets_them_at_the_first_refusal(plan, robin):
    rows = several(plan, robin, 3)
    post = Post(Sent(Outcome.TRANSIENT, "too many at once (429)", whole_channel=True, wait=120))

    send_due(now=EVENING, choose=post)

    assert len(post.letters) == 1
    assert Route.objects.get(pk=EMAIL).shut_until == EVENING + 2 * MINUTE
    assert state(rows[0]) == Message.State.READY
    assert rows[0].not_before >= EVENING + 2 * MINUTE


def test_what_a_provider_asks_for_counts_where_it_is_longer_than_our_own_wait(plan, robin):
    busy = Sent(Outcome.TRANSIENT, "too many at once (429)", whole_channel=True, wait=1200)
    for _ in range(3):
        routes.fails(EMAIL, busy, now=EVENING)

    assert Route.objects.get(pk=EMAIL).shut_until == EVENING + 20 * MINUTE  # ours would be one


def test_an_alert_to_staff_is_tried_though_the_way_is_shut(plan, robin):
    vet = world.staff(plan.practice, Role.VET)
    queue_to_staff(
        flag_of(plan), vet, key="a", text=Text("EMERGENCY", "{link}"), now=EVENING, medium=Message.Medium.EMAIL
    )
    message(plan, to=robin)
    Route.objects.create(name=EMAIL, failures=3, shut_until=EVENING + 5 * MINUTE)
    post = Post(DOWN)

    send_due(now=EVENING, choose=post)
    assert [letter.subject for letter in post.letters] == ["EMERGENCY"]


def test_an_alert_that_gets_through_opens_the_way_for_all(plan, robin):
    vet = world.staff(plan.practice, Role.VET)
    queue_to_staff(
        flag_of(plan), vet, key="a", text=Text("EMERGENCY", "{link}"), now=EVENING, medium=Message.Medium.EMAIL
    )
    message(plan, to=robin)
    Route.objects.create(name=EMAIL, failures=3, shut_until=EVENING + 5 * MINUTE)

    assert send_due(now=EVENING, choose=Post()) == 2


def test_a_practice_with_a_channel_of_its_own_is_not_held_up_by_another(plan, robin):
    other = world.running_plan("rabbit", where=world.practice("oak-lane"))
    clover = nothing_waits(other)
    Channel.objects.create(
        practice=other.practice, medium="email", secret_url=encrypt("smtp://a:b@mail.example.org?from=a@example.org")
    )
    ours, theirs = message(plan, to=robin), message(other, to=clover, key="two")
    Route.objects.create(name=EMAIL, failures=3, shut_until=EVENING + 5 * MINUTE)

    send_due(now=EVENING, choose=Post())

    assert (state(ours), state(theirs)) == (Message.State.READY, Message.State.SENT)
    assert Route.objects.get(pk=f"practice:{other.practice_id}:email").last_ok_at == EVENING
