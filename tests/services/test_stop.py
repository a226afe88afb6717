"""A person stops messages: what waits and what comes become calls, bad signs too, and nothing is asked twice."""

from __future__ import annotations

import datetime as dt
import uuid

import pytest

from clinic.models import Carer, Consent, Role
from followup.domain.wording import Text
from followup.models import CheckIn, Dose, Message, Plan, Recipient, Task
from followup.services.chase import chase
from followup.services.claim import Claim
from followup.services.deliver import deliver
from followup.services.dispatch import send_due
from followup.services.notices import send_notices
from followup.services.outbox import queue_to_owner
from followup.services.raw_answers import together
from followup.services.reply import Incoming, take_reply
from followup.services.stop import start_again, stop
from tests import world
from tests.services.post import EVENING, Post, message, nothing_waits, state

pytestmark = pytest.mark.django_db

HOUR, MINUTE = dt.timedelta(hours=1), dt.timedelta(minutes=1)
LINK, PHONE = Recipient.How.LINK, Recipient.How.PHONE
BAD = {"demeanour": ["collapsed"], "appetite": ["none"]}


@pytest.fixture
def plan() -> Plan:
    return world.running_plan()


@pytest.fixture
def robin(plan: Plan) -> Recipient:
    return nothing_waits(plan)


def calls(plan: Plan) -> list[str]:
    return list(plan.tasks.filter(kind=Task.Kind.PHONE).order_by("pk").values_list("text", flat=True))


def says(robin: Recipient, plan: Plan, raw: dict[str, list[str]], *, now: dt.datetime) -> None:
    take_reply(plan, Incoming(uuid.uuid4().hex, together(raw)), author=robin, now=now)


def test_a_stop_is_kept_with_its_time_and_how_and_counts_once(plan, robin):
    assert stop(robin, how=LINK, now=EVENING)
    assert not stop(robin, how=PHONE, now=EVENING + HOUR)

    robin.refresh_from_db()
    assert (robin.stopped_at, robin.stopped_how) == (EVENING, "link")
    assert not robin.person.agrees("to_be_contacted")
    assert [(each.given, each.recorded_by) for each in robin.person.consents.filter(at=EVENING)] == [(False, None)]
    assert plan.events.get(what="messages_stopped").text == f"{robin.person} asked for no messages, on their page"


def test_messages_begin_again_and_staff_say_who_wrote_it_down(plan, robin):
    desk = world.staff(plan.practice, Role.FRONT_DESK)
    assert not start_again(robin, how=PHONE, staff=desk, now=EVENING)
    stop(robin, how=LINK, now=EVENING)

    assert start_again(robin, how=PHONE, staff=desk, now=EVENING + HOUR)

    robin.refresh_from_db()
    assert (robin.stopped_at, robin.stopped_how) == (None, "")
    assert robin.person.agrees("to_be_contacted")
    assert Consent.objects.get(at=EVENING + HOUR).recorded_by == desk
    assert plan.events.get(what="messages_start_again").staff == desk
    assert message(plan, to=robin).state == Message.State.READY


def test_without_a_running_follow_up_the_practice_keeps_the_word(plan, robin):
    Plan.objects.update(state=Plan.State.CLOSED, outcome="none", closed_at=EVENING)

    stop(robin, how=LINK, now=EVENING)

    assert plan.practice.events.get(what="messages_stopped", plan=None).data == {"recipient": robin.pk}


def test_whatever_waits_is_called_off_and_a_check_in_becomes_a_call(plan, robin):
    check_in = plan.check_ins.earliest("at")
    CheckIn.objects.filter(pk=check_in.pk).update(state=CheckIn.State.ASKED, asked_at=EVENING)
    row = message(plan, to=robin, check_ins=[check_in])

    stop(robin, how=LINK, now=EVENING)
    post = Post()
    send_due(now=EVENING + MINUTE, choose=post)

    row.refresh_from_db()
    assert (row.state, row.last_error, post.letters) == (Message.State.CANCELLED, "messages were stopped", [])
    assert calls(plan) == [f"Phone {robin.person}: How is Pip? (they asked for no messages)"]
    assert CheckIn.objects.get(pk=check_in.pk).could_not_be_asked


def test_a_message_that_a_worker_has_is_recalled_until_it_is_being_handed_in(plan, robin):
    taken, begun = message(plan, to=robin), message(plan, to=robin, key="two", medium=Message.Medium.SMS)
    lease = {"state": Message.State.LEASED, "lease_until": EVENING + MINUTE}
    Message.objects.filter(pk=taken.pk).update(**lease, lease_token=uuid.uuid4())
    Message.objects.filter(pk=begun.pk).update(**lease, lease_token=uuid.uuid4(), begun_at=EVENING)

    stop(robin, how=LINK, now=EVENING)

    assert (state(taken), state(begun)) == (Message.State.CANCELLED, Message.State.LEASED)
    assert len(calls(plan)) == 1


def test_what_was_queued_at_the_very_moment_of_the_stop_is_a_call_and_does_not_go_out(plan, robin):
    row = message(plan, to=robin)
    Recipient.objects.update(stopped_at=EVENING)
    post = Post()

    send_due(now=EVENING + MINUTE, choose=post)

    assert (state(row), post.letters) == (Message.State.CANCELLED, [])
    assert calls(plan) == [f"Phone {robin.person}: How is Pip? (they asked for no messages)"]


def test_check_ins_are_calls_when_they_are_due_and_no_reminder_adds_one(plan, robin):
    stop(robin, how=LINK, now=EVENING)
    for minutes in range(0, 8 * 60, 15):
        chase(now=EVENING + minutes * MINUTE)

    asked = plan.check_ins.filter(state=CheckIn.State.ASKED)
    assert asked.filter(reminders__gt=0).exists(), "there was something to be reminded of"
    assert all(each.could_not_be_asked for each in asked)
    questions = [each for each in calls(plan) if "How is Pip" in each or "Has Pip" in each]
    assert len(questions) == asked.values("at").distinct().count()
    assert not plan.messages.exists()


def test_the_reminder_of_what_was_asked_before_the_stop_is_its_call(plan, robin):
    for minutes in range(0, 4 * 60, 5):
        chase(now=EVENING + minutes * MINUTE)
        if plan.check_ins.filter(state=CheckIn.State.ASKED).exists():
            break
    now = EVENING + minutes * MINUTE
    send_due(now=now, choose=Post())
    assert plan.messages.filter(state=Message.State.SENT, purpose="check_in").exists()
    stop(robin, how=LINK, now=now)
    before = len(calls(plan))

    for more in range(0, 3 * 60, 5):
        chase(now=now + more * MINUTE)

    assert len([each for each in calls(plan)[before:] if "Has Pip eaten?" in each]) == 1


@pytest.mark.parametrize(
    ("purpose", "held", "is_a_call"),
    [
        (Message.Purpose.CHECK_IN, False, True),
        (Message.Purpose.NEWS, False, True),
        (Message.Purpose.ADVICE, False, True),
        (Message.Purpose.DOSE, False, False),
        (Message.Purpose.DOSE, True, True),
        (Message.Purpose.GOODBYE, False, False),
        (Message.Purpose.REMINDER, False, False),
    ],
)
def test_what_becomes_a_call_and_what_falls_away(plan, robin, purpose, held, is_a_call):
    stop(robin, how=LINK, now=EVENING)
    dose = plan.doses.earliest("pk")
    Dose.objects.filter(pk=dose.pk).update(held=held)
    dose.refresh_from_db()

    for _ in range(2):
        queue_to_owner(
            plan,
            robin,
            purpose=purpose,
            key="one",
            text=Text("A subject", "A body"),
            now=EVENING,
            expires_at=EVENING + HOUR,
            doses=[dose] if purpose == Message.Purpose.DOSE else (),
        )

    expected = [f"Phone {robin.person}: A subject (they asked for no messages)"] if is_a_call else []
    assert (calls(plan), plan.messages.count()) == (expected, 0)


def test_a_notice_about_other_animals_is_a_call_and_day_30_is_not(plan, robin):
    stop(robin, how=LINK, now=EVENING)
    for day in range(50):
        send_notices(now=EVENING + dt.timedelta(days=day))

    assert plan.notices.filter(done_at=None).count() == 0
    assert not any("turn out" in each for each in calls(plan))
    assert any("two more weeks apart" in each for each in calls(plan))


def test_a_bad_sign_that_is_open_at_the_stop_is_a_call_at_once(plan, robin):
    says(robin, plan, BAD, now=EVENING)
    plan.messages.all().delete()
    Task.objects.all().delete()

    stop(robin, how=LINK, now=EVENING + MINUTE)

    red = [each for each in calls(plan) if "EMERGENCY, Pip: " in each]
    assert len(red) == plan.flags.open().filter(level=3).count() > 0
    assert all(each.startswith(f"Phone {robin.person}: ") for each in red)
    assert all(each.endswith(": they asked for no messages") for each in red)


@pytest.mark.parametrize(("raw", "word"), [(BAD, "EMERGENCY"), ({"worried": ["very"]}, "urgent")])
def test_a_bad_sign_after_the_stop_is_a_call_at_once_even_when_a_page_has_shown_it(plan, robin, raw, word):
    stop(robin, how=LINK, now=EVENING)

    says(robin, plan, raw, now=EVENING + MINUTE)

    assert plan.flags.open().filter(level__gte=2).exists()
    red = [each for each in calls(plan) if f"{word}, Pip: " in each]
    assert len(red) == 1
    assert red[0].startswith(f"Phone {robin.person}: ")
    assert not plan.messages.to_owners().exists()


def test_the_same_bad_sign_is_one_open_call_and_a_new_one_when_that_was_made(plan, robin):
    stop(robin, how=LINK, now=EVENING)
    says(robin, plan, {"worried": ["very"]}, now=EVENING + MINUTE)
    says(robin, plan, {"worried": ["very"], "appetite": ["less"]}, now=EVENING + 2 * MINUTE)
    open_calls = plan.tasks.open().filter(key__startswith="phone:flag:")
    assert open_calls.count() == plan.flags.open().filter(level=2).count()

    open_calls.update(done_at=EVENING + 3 * MINUTE)
    says(robin, plan, BAD, now=EVENING + HOUR)

    assert any("EMERGENCY" in each.text for each in plan.tasks.open())


def test_replies_on_the_page_still_count_after_the_stop(plan, robin):
    stop(robin, how=LINK, now=EVENING)
    says(robin, plan, {"appetite": ["normal"], "faeces": ["normal"]}, now=EVENING + MINUTE)

    assert plan.observations.filter(reply__recipient=robin).exists()


def test_a_carer_goes_on_when_the_owner_has_stopped(plan, robin):
    carer = world.owner(plan.practice, name="Kim Carer")
    Carer.objects.create(patient=plan.patient, person=carer, second=True)
    stop(robin, how=LINK, now=EVENING)
    for minutes in range(0, 10 * 60, 15):
        chase(now=EVENING + minutes * MINUTE)

    to = {each.recipient.person.name for each in plan.messages.to_owners() if each.recipient is not None}
    assert to <= {"Kim Carer"}
    kim = Recipient.objects.filter(person=carer).first()
    assert kim is None or kim.stopped_at is None


def test_a_second_worker_that_recalls_nothing_calls_nobody_twice(plan, robin):
    row = message(plan, to=robin)
    token = uuid.uuid4()
    Message.objects.filter(pk=row.pk).update(
        state=Message.State.LEASED, lease_until=EVENING + MINUTE, lease_token=token, attempts=1
    )
    row = Message.objects.select_related("plan__practice", "plan__patient", "recipient__person", "practice").get(
        pk=row.pk
    )
    stop(robin, how=LINK, now=EVENING)
    assert row.recipient is not None
    row.recipient.stopped_at = EVENING

    deliver(Claim(row, token, 0.0), now=EVENING, choose=Post())

    assert len(calls(plan)) == 1
