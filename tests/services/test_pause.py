"""The switch that stops all messages to owners: nothing is lost, nothing is flooded, and alerts go on."""

from __future__ import annotations

import datetime as dt

import pytest

from clinic.models import Practice, Role
from followup.domain.terms import FollowUpError, Level
from followup.models import CheckIn, Event, Flag, Message, Plan, Task
from followup.services import deliver
from followup.services.dispatch import send_due
from followup.services.links import recipient_for
from followup.services.outbox import ADVICE_PRIORITY
from followup.services.pause import give_up_while_paused, pause, phone_instead_of_advice, resume
from followup.services.tick import tick
from followup.services.who_may import NotYours
from tests import world
from tests.services.post import EVENING, Post, message, nothing_waits, read_by, state
from tests.world import at

pytestmark = pytest.mark.django_db
HOUR = dt.timedelta(hours=1)
MINUTE = dt.timedelta(minutes=1)
READY, SENT, SUPERSEDED = Message.State.READY, Message.State.SENT, Message.State.SUPERSEDED
EXPIRED = Message.State.EXPIRED
REMINDER, ADVICE = Message.Purpose.REMINDER, Message.Purpose.ADVICE


@pytest.fixture
def plan() -> Plan:
    made = world.running_plan()
    nothing_waits(made)
    return made


def robin(plan: Plan):
    return nothing_waits(plan) if not plan.messages.exists() else plan.practice.recipients.get()


def paused(plan: Plan, *, now: dt.datetime = EVENING, reason: str = "The line is being moved") -> Practice:
    pause(plan.practice, staff=world.staff(plan.practice, Role.ADMINISTRATOR), reason=reason, now=now)
    return plan.practice


def resumed(plan: Plan, *, now: dt.datetime) -> bool:
    return resume(plan.practice, staff=world.staff(plan.practice), now=now)


def flag(plan: Plan, level: Level = Level.EMERGENCY) -> Flag:
    return Flag.objects.create(
        practice=plan.practice, plan=plan, concern="wound", level=level, worst=level, raised_at=EVENING,
        updated_at=EVENING, opened_at=EVENING, because="bleeding",
    )  # fmt: skip


def test_while_paused_what_is_due_waits_and_no_try_is_counted(plan):
    row = message(plan, to=robin(plan))
    paused(plan)
    post = Post()

    for minutes in range(5):
        send_due(now=EVENING + minutes * MINUTE, choose=post)

    assert (post.letters, state(row), row.attempts) == ([], READY, 0)


def test_a_message_that_a_worker_has_when_the_switch_is_thrown_waits_too(plan):
    """The switch falls between the claim and the send of the second of two."""
    first = message(plan, to=robin(plan), key="first", now=EVENING - MINUTE)
    carer = world.owner(plan.practice)
    second = message(plan, to=recipient_for(plan.practice, carer, now=EVENING), key="second")
    post = Post(meanwhile=lambda: Practice.objects.update(messages_paused=True))

    send_due(now=EVENING, choose=post)

    assert (state(first), state(second), second.attempts) == (SENT, READY, 0)


def test_the_switch_holds_until_the_very_moment_of_handing_in(plan, monkeypatch):
    row, post = message(plan, to=robin(plan)), Post()

    # After the last look of this worker; how many rows it changed is a yes.
    monkeypatch.setattr(deliver, "may_go", lambda *_, **__: Practice.objects.update(messages_paused=True))
    send_due(now=EVENING, choose=post)

    row.refresh_from_db()
    assert (post.letters, row.state, row.attempts) == ([], READY, 0)


def test_alerts_to_staff_go_on(plan):
    row = message(plan, to=robin(plan))
    vet = world.staff(plan.practice)
    Message.objects.filter(pk=row.pk).update(
        audience=Message.Audience.STAFF, recipient=None, staff=vet, flag=flag(plan), priority=0
    )
    paused(plan)

    send_due(now=EVENING, choose=Post())

    assert state(row) == SENT


def test_another_practice_goes_on_sending(plan):
    other = world.running_plan(where=world.practice("other-street"))
    row = message(other, to=robin(other))
    paused(plan)

    send_due(now=EVENING, choose=Post())

    assert state(row) == SENT


def test_what_becomes_too_late_says_that_it_was_paused_and_is_one_call(plan):
    row = message(plan, to=robin(plan), expires_at=EVENING + HOUR)
    paused(plan)

    for hours in (1, 2):
        assert give_up_while_paused(now=EVENING + hours * HOUR) == (hours == 1)

    assert (state(row), row.last_error) == (EXPIRED, "messages were paused")
    assert [task.text for task in plan.tasks.filter(key=f"undelivered:{row.pk}")] == [
        f"Phone {read_by(row)}: the message “How is Pip?” was not sent in time: messages were paused"
    ]


def test_the_tick_itself_gives_them_up(plan):
    row = message(plan, to=robin(plan), expires_at=EVENING + MINUTE)
    paused(plan)

    tick(now=EVENING + 2 * MINUTE, choose=Post())

    assert (state(row), row.last_error) == (EXPIRED, "messages were paused")


def test_after_the_pause_what_can_still_go_goes(plan):
    row = message(plan, to=robin(plan))
    paused(plan)

    assert resumed(plan, now=EVENING + HOUR)
    send_due(now=EVENING + HOUR, choose=Post())

    assert state(row) == SENT


def test_after_the_pause_an_owner_gets_the_newest_question_and_no_flood(plan):
    to = robin(plan)
    rows = {
        "morning": message(plan, to=to, key="morning", now=EVENING - 10 * HOUR),
        "noon": message(plan, to=to, key="noon", now=EVENING - 5 * HOUR, expires_at=EVENING + 9 * HOUR),
        "reminder": message(plan, to=to, key="reminder", now=EVENING - 4 * HOUR, purpose=REMINDER, medium="sms"),
        "later": message(plan, to=to, key="later", not_before=EVENING + 2 * HOUR),
    }
    dose = plan.doses.earliest("at")
    rows["dose"] = message(plan, to=to, key="dose", purpose=Message.Purpose.DOSE, doses=[dose])
    paused(plan, now=EVENING - 11 * HOUR)

    resumed(plan, now=EVENING)

    assert {name: state(row) for name, row in rows.items()} == {
        "morning": SUPERSEDED, "noon": READY, "reminder": SUPERSEDED, "later": READY, "dose": READY,
    }  # fmt: skip


def test_a_reminder_of_what_had_gone_out_before_still_reminds(plan):
    to = robin(plan)
    first = message(plan, to=to, key="first", purpose=REMINDER, now=EVENING - HOUR)
    second = message(plan, to=to, key="second", purpose=REMINDER)
    paused(plan)

    resumed(plan, now=EVENING)

    assert (state(first), state(second)) == (SUPERSEDED, READY)


def test_a_question_that_never_went_out_is_nobodys_silence(plan):
    earlier, newest = plan.check_ins.order_by("at")[:2]
    CheckIn.objects.filter(pk__in=[earlier.pk, newest.pk]).update(state=CheckIn.State.ASKED, asked_at=EVENING)
    message(plan, to=robin(plan), key="old", now=EVENING - HOUR, check_ins=[earlier])
    message(plan, to=robin(plan), key="new", check_ins=[newest])
    paused(plan)

    resumed(plan, now=EVENING)

    asked = {row.pk: row.could_not_be_asked for row in plan.check_ins.filter(pk__in=[earlier.pk, newest.pk])}
    assert asked == {earlier.pk: True, newest.pk: False}


@pytest.mark.parametrize(
    ("level", "words"), [(Level.EMERGENCY, "emergency advice"), (Level.URGENT, "advice"), (None, "advice")]
)
def test_advice_that_is_kept_back_is_a_call_at_once(plan, level, words):
    paused(plan)
    about = flag(plan, level) if level is not None else None
    row = message(plan, to=robin(plan), purpose=ADVICE, priority=ADVICE_PRIORITY, flag=about)

    tick(now=EVENING, choose=Post())

    task = plan.tasks.get(key=f"undelivered:{row.pk}")
    assert task.text == f"Phone {read_by(row)}: {words} could not be sent, messages are paused"
    assert (task.kind, task.due_at) == (Task.Kind.PHONE, EVENING)


def test_advice_that_already_waits_when_the_switch_is_thrown_is_a_call_too(plan):
    row = message(plan, to=robin(plan), purpose=ADVICE, priority=ADVICE_PRIORITY)

    paused(plan)

    assert plan.tasks.filter(key=f"undelivered:{row.pk}").count() == 1


def test_the_call_is_made_once_and_not_again_when_the_advice_becomes_too_late(plan):
    row = message(plan, to=robin(plan), purpose=ADVICE, priority=ADVICE_PRIORITY, expires_at=EVENING + HOUR)
    paused(plan)
    Task.objects.filter(key=f"undelivered:{row.pk}").update(done_at=EVENING, result="Spoke to him.")

    assert phone_instead_of_advice(now=EVENING + MINUTE) == 0
    tick(now=EVENING + 2 * HOUR, choose=Post())

    assert state(row) == EXPIRED
    assert plan.tasks.filter(key__startswith="undelivered:", done_at=None).count() == 0


def test_advice_that_waits_for_the_morning_is_a_call_in_the_morning(plan):
    paused(plan)
    morning = at("07:00", day=1)
    row = message(plan, to=robin(plan), purpose=ADVICE, priority=ADVICE_PRIORITY, not_before=morning)

    phone_instead_of_advice(now=EVENING)

    assert plan.tasks.get(key=f"undelivered:{row.pk}").due_at == morning


def test_without_a_pause_advice_is_no_call(plan):
    message(plan, to=robin(plan), purpose=ADVICE, priority=ADVICE_PRIORITY)

    assert phone_instead_of_advice(now=EVENING) == 0


def test_check_ins_still_fall_due_while_paused(plan):
    paused(plan)
    first = plan.check_ins.filter(state=CheckIn.State.PLANNED).earliest("at")

    tick(now=first.at, choose=Post())

    first.refresh_from_db()
    assert first.state == CheckIn.State.ASKED
    assert {row.state for row in plan.messages.to_owners()} == {READY}


def test_who_paused_it_when_and_why_is_kept_and_logged(plan):
    where = paused(plan, reason="  The   line is being moved ")
    administrator = world.staff(where, Role.ADMINISTRATOR)

    assert (where.messages_paused, where.paused_at, where.paused_by) == (True, EVENING, administrator)
    assert where.paused_why == "The line is being moved"
    resumed(plan, now=EVENING + HOUR)
    assert (where.messages_paused, where.paused_at, where.paused_by, where.paused_why) == (False, None, None, "")
    events = Event.objects.filter(practice=where, what__in=["messages_paused", "messages_resumed"])
    assert [(row.what, row.staff, row.at) for row in events.order_by("pk")] == [
        ("messages_paused", administrator, EVENING),
        ("messages_resumed", world.staff(where), EVENING + HOUR),
    ]


@pytest.mark.parametrize("reason", ["", "  \n ", "x" * 301])
def test_a_pause_says_why_in_a_few_words(plan, reason):
    with pytest.raises(FollowUpError) as refused:
        paused(plan, reason=reason)

    assert refused.value.field == "why"
    assert not Practice.objects.get(pk=plan.practice_id).messages_paused


def test_the_second_to_throw_the_switch_changes_nothing(plan):
    paused(plan)

    vet = world.staff(plan.practice)
    assert not pause(plan.practice, staff=vet, reason="me too", now=EVENING + HOUR)
    assert Practice.objects.get(pk=plan.practice_id).paused_why == "The line is being moved"
    assert resume(plan.practice, staff=vet, now=EVENING + HOUR)
    assert not resume(plan.practice, staff=vet, now=EVENING + HOUR)


@pytest.mark.parametrize("role", [Role.FRONT_DESK, Role.NURSE])
def test_only_a_vet_or_an_administrator_throws_it(plan, role):
    who = world.staff(plan.practice, role)

    with pytest.raises(NotYours):
        pause(plan.practice, staff=who, reason="x", now=EVENING)
    with pytest.raises(NotYours):
        resume(plan.practice, staff=who, now=EVENING)


def test_a_vet_of_another_practice_throws_nothing(plan):
    with pytest.raises(NotYours):
        pause(plan.practice, staff=world.staff(world.practice("other-street")), reason="x", now=EVENING)
