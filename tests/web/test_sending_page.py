"""The page "Sending": whether it works in one line, which ways are open, what did not go out, and the pause switch."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clinic.models import Practice, Role
from followup.models import Channel, Count, Gap, Heartbeat, Message, Plan, Route
from followup.services.links import recipient_for
from followup.services.pause import pause
from followup.services.tick import tick
from tests import world
from tests.owner_world import move_clock
from tests.pages import text_of
from tests.services.post import EVENING, Post, message, nothing_waits
from tests.test_tick_by_index import walks_in
from tests.world import at

pytestmark = pytest.mark.django_db
MINUTE = dt.timedelta(minutes=1)
HOUR = dt.timedelta(hours=1)
PAGE = "/practice/sending/"
QUERIES = 12
"""Session, member, memberships, the test's clock, ways, state, how many, which, canary, gaps, counts, who paused."""
MAY = [Role.VET, Role.ADMINISTRATOR]
MAY_NOT = [Role.FRONT_DESK, Role.NURSE]


@pytest.fixture
def plan(settings) -> Plan:
    settings.EMAIL_URL = "smtp://localhost?from=desk@example.org"
    made = world.running_plan()
    nothing_waits(made)
    tick(now=EVENING, choose=Post())
    move_clock(EVENING)
    return made


def logged_in(plan: Plan, role: Role = Role.VET) -> Client:
    visitor = Client()
    visitor.force_login(world.staff(plan.practice, role))
    return visitor


def shown(plan: Plan, role: Role = Role.VET, path: str = PAGE) -> str:
    return text_of(logged_in(plan, role).get(path))


def rows(plan: Plan, **states: int) -> None:
    """So many messages that ended so, an hour ago."""
    for state, many in states.items():
        for number in range(many):
            row = message(plan, to=robin(plan), key=f"{state}{number}", now=EVENING - HOUR)
            Message.objects.filter(pk=row.pk).update(state=state, last_error=f"{state} because", subject=f"{state}!")


def robin(plan: Plan):

    return recipient_for(plan.practice, plan.patient.owner, now=EVENING)


def test_one_big_line_says_that_it_works_and_when_each_thing_last_did(plan):
    Heartbeat.objects.beat("reply", at("17:10"))

    text = shown(plan)

    assert "Sending works." in text
    for words in ("10 Mar 18:30", "10 Mar 17:10", "nothing waits", "came back 10 Mar 18:30, inside this program"):
        assert words in text


def test_one_big_line_says_that_it_is_down_why_and_what_to_do(plan):
    move_clock(EVENING + 10 * MINUTE)

    text = shown(plan)

    assert "Sending is down." in text
    assert "The program has not looked at what is due since 18:30." in text
    assert "phone owners from the" in text
    assert "Sending works." not in text


def test_the_hourly_look_by_real_mail_names_the_box_to_look_into(plan, settings):
    settings.CANARY_ADDRESS = "box@example.org"
    Message.objects.filter(audience=Message.Audience.LOOP).update(sent_through="smtp")

    assert "taken by the mail server for box@example.org at 10 Mar 18:30; look there whether it came" in shown(plan)


def test_each_way_out_is_open_shut_or_not_set_up(plan):
    Channel.objects.create(practice=plan.practice, medium="chat", secret_url="x")
    Route.objects.update_or_create(name="installation:email", defaults={"last_ok_at": at("18:10")})
    Route.objects.create(
        name=f"practice:{plan.practice_id}:chat", failures=3, since=at("18:02"), why="no connection",
        shut_until=at("18:40"),
    )  # fmt: skip

    text = shown(plan)

    assert "E-mail</strong>, set up for the whole installation" in text
    assert "Open; the last message got through 10 Mar 18:10." in text
    assert "The chat of the staff</strong>, the practice&#x27;s own" in text or "the practice's own" in text
    assert "since 10 Mar 18:02: no connection. The next try is at 18:40." in text
    assert "Text message</strong></p> <p>Not set up: messages stay in the tray." in text


def test_what_did_not_go_out_is_counted_and_listed_with_its_patient(plan):
    rows(plan, ready=1, failed=2, parked=1, expired=3, sent=0, cancelled=1)

    text = shown(plan)

    assert "<strong>1</strong> waits" in text
    assert "<strong>2</strong> failed" in text
    assert "<strong>1</strong> may or may not have arrived" in text
    assert "<strong>3</strong> too late" in text
    assert text.count(f'href="{reverse("followup:patient", kwargs={"pk": plan.pk})}"') == 7
    assert "failed: failed because" in text
    assert "cancelled!" not in text


def test_what_became_too_late_while_paused_is_counted_by_itself(plan):
    rows(plan, expired=3)
    some = Message.objects.filter(state="expired").earliest("pk")
    Message.objects.filter(pk=some.pk).update(last_error="messages were paused")

    assert "<strong>3</strong> too late, 1 of them while paused" in shown(plan)


def test_what_is_older_than_a_week_or_another_practices_is_not_there(plan):
    rows(plan, failed=1)
    Message.objects.filter(state="failed").update(due_at=EVENING - dt.timedelta(days=8))
    other = world.running_plan(where=world.practice("other-street"))
    row = message(other, to=robin(other), key="other", now=EVENING)
    Message.objects.filter(pk=row.pk).update(state="failed", subject="Strangers")

    text = shown(plan)

    assert "<strong>0</strong> failed" in text
    assert "Strangers" not in text


def test_a_message_held_until_the_owner_wakes_does_not_wait(plan):
    message(plan, to=robin(plan), not_before=EVENING + 10 * HOUR)

    assert "<strong>0</strong> wait<" in shown(plan)


def test_fifty_a_page(plan):
    rows(plan, failed=60)

    assert shown(plan).count("failed!") == 50
    assert shown(plan, path=f"{PAGE}?page=2").count("failed!") == 10
    assert shown(plan, path=f"{PAGE}?page=nonsense").count("failed!") == 50


def test_as_many_questions_to_the_database_however_much_there_is(plan):
    visitor = logged_in(plan)
    pause(plan.practice, staff=world.staff(plan.practice), reason="a trial", now=EVENING)
    counts = []
    for many in (2, 55):
        rows(plan, **{"expired" if many == 2 else "failed": many})
        Gap.objects.create(
            kind="stopped", began_at=EVENING - many * HOUR, ended_at=EVENING - MINUTE, caught_up_at=EVENING
        )
        with CaptureQueriesContext(connection) as asked:
            visitor.get(PAGE)
        counts.append(len(asked))

    assert counts == [QUERIES, QUERIES]


@pytest.mark.skipif(connection.vendor != "sqlite", reason="PostgreSQL chooses by how full a table is")
def test_no_query_of_it_walks_through_a_table_that_grows(plan):
    rows(plan, failed=2)
    Gap.objects.create(kind="stopped", began_at=EVENING - HOUR, ended_at=EVENING - MINUTE, caught_up_at=EVENING)

    with CaptureQueriesContext(connection) as asked:
        logged_in(plan).get(PAGE)

    assert walks_in(query["sql"] for query in asked) == set()


def test_gaps_say_from_when_to_when_and_how_many_of_ours_were_too_late(plan):
    rows(plan, expired=2)
    late = Message.objects.filter(state="expired")
    late.update(expires_at=at("12:30"))
    gap = {"began_at": at("12:00"), "ended_at": at("14:00"), "caught_up_at": at("14:20")}
    Gap.objects.create(kind=Gap.Kind.STOPPED, **gap)
    other = world.running_plan(where=world.practice("other-street"))
    row = message(other, to=robin(other), key="other", now=EVENING)
    Message.objects.filter(pk=row.pk).update(state="expired", expires_at=at("12:30"), not_before=at("12:00"))

    assert "down from 10 Mar 12:00 to 10 Mar 14:00; 2 messages of this practice came too late." in shown(plan)


@pytest.mark.parametrize("role", [*MAY, *MAY_NOT])
def test_a_restored_backup_waits_for_the_word_of_a_vet_or_an_administrator(plan, role):
    gap = Gap.objects.create(kind=Gap.Kind.RESTORED, began_at=at("12:00"), ended_at=at("14:00"))
    confirm = reverse("followup:confirm_restored")

    assert (confirm in shown(plan, role)) is (role in MAY)
    assert logged_in(plan, role).post(confirm).status_code == (302 if role in MAY else 403)

    gap.refresh_from_db()
    assert (gap.confirmed_by is not None) is (role in MAY)
    if role in MAY:
        assert "Confirmed by" in shown(plan)
        assert confirm not in shown(plan)


def test_a_word_that_nobody_waits_for_changes_nothing(plan):
    answer = logged_in(plan).post(reverse("followup:confirm_restored"), follow=True)

    assert "Nothing waits for a word." in text_of(answer)


def test_what_must_never_happen_is_counted_in_sight(plan):
    for _ in range(2):
        Count.objects.one_more("night_sends", at("03:00"))

    text = shown(plan)

    assert "<dd>2; each was kept back, the last 10 Mar 03:00</dd>" in text
    assert "clock was set back</dt><dd>0</dd>" in text


@pytest.mark.parametrize("role", MAY)
def test_the_switch_stops_everything_and_lets_it_go_again(plan, role):
    visitor = logged_in(plan, role)

    paused = text_of(visitor.post(reverse("followup:pause"), {"why": "The line is being moved"}, follow=True))
    assert "All messages to owners are paused</strong> since 10 Mar 18:30 by" in paused
    assert ": The line is being moved." in paused
    assert Practice.objects.get(pk=plan.practice_id).messages_paused

    again = text_of(visitor.post(reverse("followup:resume"), follow=True))
    assert "Messages to owners go out again." in again
    assert not Practice.objects.get(pk=plan.practice_id).messages_paused


@pytest.mark.parametrize("role", MAY_NOT)
@pytest.mark.parametrize("name", ["pause", "resume"])
def test_whoever_may_not_throw_it_is_neither_offered_nor_let(plan, role, name):
    address = reverse(f"followup:{name}")

    assert address not in shown(plan, role)
    assert logged_in(plan, role).post(address, {"why": "x"}).status_code == 403
    assert not Practice.objects.get(pk=plan.practice_id).messages_paused


def test_without_a_reason_nothing_is_paused_and_nothing_typed_is_lost(plan):
    long = "because " * 60

    for typed in ("", long):
        answer = logged_in(plan).post(reverse("followup:pause"), {"why": typed})
        assert answer.status_code == 422
        assert 'aria-invalid="true" aria-describedby="fault"' in text_of(answer)
        assert long.strip() in text_of(answer) or not typed
    assert not Practice.objects.get(pk=plan.practice_id).messages_paused
