"""Whether sending works: for watchers outside, and the loop that runs beside or instead of Celery."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import DatabaseError, connection
from django.test import Client

from clinic.keys import Keys
from clinic.models import Practice
from followup.models import Channel, Count, Gap, Heartbeat, Message, Plan, Route
from followup.services.health import health
from tests import world
from tests.owner_world import move_clock
from tests.services.post import EVENING, message, nothing_waits
from tests.test_tick_by_index import walks_in

pytestmark = pytest.mark.django_db
MINUTE = dt.timedelta(minutes=1)
LATER = EVENING + 10 * MINUTE
QUERIES = 3
"""Ways out that are shut; everything else in one; counts."""


@pytest.fixture
def plan() -> Plan:
    """A practice whose last tick was done just now."""
    made = world.running_plan()
    nothing_waits(made)
    Heartbeat.objects.beat("tick", LATER)
    return made


def waiting(plan: Plan, **changes: Any) -> Message:
    """A message that was due at EVENING."""
    return message(plan, to=nothing_waits(plan), **changes)


def shut(name: str, *, since: dt.datetime = EVENING, why: str = "no connection") -> Route:
    return Route.objects.create(name=name, failures=3, since=since, why=why, shut_until=LATER + 10 * MINUTE)


@pytest.mark.parametrize(("minutes", "status"), [(2.9, 200), (3.1, 503)])
def test_three_minutes_without_a_tick_are_too_many(client, minutes, status):
    move_clock(EVENING)
    Heartbeat.objects.beat("tick", EVENING - minutes * MINUTE)

    answer = client.get("/health")

    assert (answer.status_code, answer.json()["ok"]) == (status, status == 200)
    assert answer["Cache-Control"].startswith("max-age=0")


def test_before_the_first_tick_it_is_not_well(client):
    answer = client.get("/health")

    assert answer.status_code == 503
    assert answer.json()["reasons"] == ["The program has not looked yet."]


@pytest.mark.parametrize(("minutes", "ok"), [(3, True), (3.1, False)])
def test_a_message_that_waits_for_more_than_three_minutes_is_too_late(plan, minutes, ok):
    waiting(plan)
    now = EVENING + minutes * MINUTE
    Heartbeat.objects.beat("tick", now)

    told = health(now)

    assert told["ok"] is ok
    assert told["oldest_overdue"] == EVENING.isoformat()
    assert told["reasons"] == ([] if ok else ["A message that was due at 2025-03-10 18:30 UTC has not gone out."])


def test_a_message_that_waits_on_purpose_is_not_overdue(plan):
    waiting(plan, not_before=LATER + MINUTE)

    assert (health(LATER)["ok"], health(LATER)["oldest_overdue"]) == (True, None)


def test_while_it_catches_up_only_alerts_must_not_wait(plan):
    row = waiting(plan)
    Gap.objects.create(kind=Gap.Kind.STOPPED, began_at=EVENING - 60 * MINUTE, ended_at=LATER)
    assert health(LATER)["ok"]

    vet = world.staff(plan.practice)
    Message.objects.filter(pk=row.pk).update(audience=Message.Audience.STAFF, recipient=None, staff=vet)

    assert not health(LATER)["ok"]


def test_a_restored_backup_that_nobody_has_confirmed_is_no_fault_of_sending(plan):
    waiting(plan)
    Gap.objects.create(kind=Gap.Kind.RESTORED, began_at=EVENING - 60 * MINUTE, ended_at=LATER)

    assert health(LATER)["ok"]


def test_what_waits_for_a_practices_own_shut_way_is_its_own_affair(plan):
    waiting(plan)
    Channel.objects.create(practice=plan.practice, medium="email", secret_url="x")
    shut(f"practice:{plan.practice_id}:email")
    assert health(LATER)["ok"]

    Message.objects.update(medium="sms")

    assert not health(LATER)["ok"]


def test_the_same_way_of_another_practice_excuses_nobody(plan):
    waiting(plan)
    shut(f"practice:{world.practice('other-street').pk}:email")

    assert not health(LATER)["ok"]


@pytest.mark.parametrize(("minutes", "ok"), [(3, True), (3.1, False)])
def test_the_installations_way_that_is_shut_for_three_minutes_is_everybodys_fault(plan, minutes, ok):
    shut("installation:email", since=LATER - minutes * MINUTE, why="the mail server refused our log-in (535)")

    told = health(LATER)

    assert told["ok"] is ok
    if not ok:
        assert "Nothing gets through by e-mail since" in told["reasons"][0]
        assert "the mail server refused our log-in (535)" in told["reasons"][0]


def test_a_way_that_failed_once_and_is_not_shut_says_nothing(plan):
    Route.objects.create(name="installation:email", failures=1, since=EVENING, why="no connection")

    assert health(LATER)["ok"]


def test_messages_that_a_practice_has_paused_are_not_overdue(plan):
    waiting(plan)
    Practice.objects.update(messages_paused=True)
    assert health(LATER)["ok"]

    Message.objects.update(
        audience=Message.Audience.STAFF, recipient=None, staff=world.staff(plan.practice), priority=0
    )

    assert not health(LATER)["ok"]


@pytest.mark.parametrize(("minutes", "ok"), [(75, True), (76, False)])
def test_a_canary_that_stays_away_for_an_hour_and_a_quarter_is_missed(plan, minutes, ok):
    Heartbeat.objects.beat("canary", LATER - minutes * MINUTE)

    assert health(LATER)["ok"] is ok


def test_several_reasons_are_all_said_the_worst_first(plan):
    waiting(plan)
    shut("installation:sms")
    Heartbeat.objects.beat("tick", EVENING)
    Heartbeat.objects.beat("canary", EVENING - 120 * MINUTE)

    said = health(LATER)["reasons"]

    assert [words.split(" ", 2)[:2] for words in said] == [
        ["The", "program"], ["A", "message"], ["The", "hourly"], ["Nothing", "gets"],
    ]  # fmt: skip


def test_it_tells_times_and_nothing_of_a_practice(client):
    plan = world.running_plan()
    message(plan, to=nothing_waits(plan))
    move_clock(LATER)
    Heartbeat.objects.beat("reply", EVENING)
    Count.objects.one_more("night_sends", EVENING)

    answer = client.get("/health")
    told = answer.json()

    assert set(told) == {
        "ok", "last_tick", "oldest_overdue", "last_sent", "last_reply", "last_canary", "reasons", "night_sends",
        "clock_set_back", "clock_jumped",
    }  # fmt: skip
    assert told["oldest_overdue"] == told["last_reply"] == EVENING.isoformat()
    assert told["last_sent"] is None
    assert (told["night_sends"], told["clock_jumped"]) == (1, 0)
    for word in ("Pip", "Robin", "Elm", "example.org"):
        assert word not in answer.content.decode()


def test_it_asks_three_questions_however_much_there_is(plan, django_assert_num_queries):
    for number in range(20):
        message(plan, to=nothing_waits(plan), key=f"k{number}")
        shut(f"practice:{1000 + number}:email")

    with django_assert_num_queries(QUERIES):
        health(LATER)


@pytest.mark.skipif(connection.vendor != "sqlite", reason="PostgreSQL chooses by how full a table is")
def test_none_of_them_walks_through_a_table_that_grows(plan, django_assert_num_queries):
    waiting(plan)
    with django_assert_num_queries(QUERIES) as asked:
        health(LATER)

    assert walks_in(query["sql"] for query in asked.captured_queries) == set()


def test_a_database_that_does_not_answer_is_said_and_not_a_broken_page(monkeypatch):
    def broken(_now: dt.datetime) -> None:
        raise DatabaseError("gone")

    monkeypatch.setattr("followup.views.health.health_of", broken)

    answer = Client().get("/health")

    assert (answer.status_code, answer.json()["reasons"]) == (503, ["The database cannot be asked."])


def test_the_command_says_why_and_ends_with_a_fault(plan, capsys):
    move_clock(LATER)
    call_command("health")
    assert "night sends: 0" in capsys.readouterr().out

    Heartbeat.objects.beat("tick", EVENING)
    with pytest.raises(CommandError, match=r"Sending is down\. The program has not looked at what is due since 2025"):
        call_command("health")


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

    with pytest.raises(CommandError, match="No keys are kept yet"):
        call_command("dispatch", once=True)
