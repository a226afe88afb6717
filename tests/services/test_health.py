"""Whether sending works: for watchers outside, and the loop that runs beside or instead of Celery."""

from __future__ import annotations

import datetime as dt

import pytest
from django.core.management import CommandError, call_command

from clinic.keys import Keys
from followup.models import Heartbeat, Message
from tests import world
from tests.owner_world import move_clock
from tests.services.post import EVENING, message, nothing_waits

pytestmark = pytest.mark.django_db
MINUTE = dt.timedelta(minutes=1)


@pytest.mark.parametrize(("minutes", "status"), [(2.9, 200), (3.1, 503)])
def test_three_minutes_without_a_tick_are_too_many(client, minutes, status):
    move_clock(EVENING)
    Heartbeat.objects.beat("tick", EVENING - minutes * MINUTE)

    answer = client.get("/health")

    assert (answer.status_code, answer.json()["ok"]) == (status, status == 200)


def test_before_the_first_tick_it_is_not_well(client):
    assert client.get("/health").status_code == 503


def test_it_tells_times_and_nothing_of_a_practice(client):
    plan = world.running_plan()
    message(plan, to=nothing_waits(plan))
    move_clock(EVENING + 10 * MINUTE)
    Heartbeat.objects.beat("reply", EVENING)

    told = client.get("/health").json()

    assert set(told) == {"ok", "last_tick", "oldest_overdue", "last_sent", "last_reply"}
    assert told["oldest_overdue"] == told["last_reply"] == EVENING.isoformat()
    assert told["last_sent"] is None


def test_dispatch_once_ticks_once(plan_due_now):
    call_command("dispatch", once=True)

    plan_due_now.refresh_from_db()
    assert plan_due_now.state == Message.State.SENT
    assert Heartbeat.objects.last_of("tick") is not None


@pytest.fixture
def plan_due_now() -> Message:
    plan = world.running_plan()
    robin = nothing_waits(plan)
    move_clock(EVENING)
    return message(plan, to=robin)


def test_dispatch_refuses_to_send_links_whose_key_nobody_kept(settings):
    settings.KEYS = Keys(secret=settings.SECRET_KEY, link=settings.LINK_KEYS, kept=False)

    with pytest.raises(CommandError, match="no keys for owners' links"):
        call_command("dispatch", once=True)
