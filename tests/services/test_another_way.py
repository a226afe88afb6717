"""What does not get through one way goes another; where there is none, a person is called."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from clinic.models import Owner
from followup.messaging.channel import Letter, Outcome, Sent
from followup.models import Message, Plan, Recipient, Route, Task
from followup.services.dispatch import send_due
from tests import world
from tests.services.post import DOWN, EVENING, Post, message, nothing_waits, state

pytestmark = pytest.mark.django_db

MINUTE = dt.timedelta(minutes=1)
ADVICE: dict[str, Any] = {"purpose": Message.Purpose.ADVICE, "priority": 1}


class ByMedium(Post):
    """Answers each medium as it was told to; the others are taken."""

    def __init__(self, **answers: Sent) -> None:
        super().__init__()
        self.answers = answers
        self.media: list[str] = []

    def __call__(self, message: Message) -> Post:
        self.media.append(message.medium)
        return self

    def send(self, letter: Letter) -> Sent:
        self.letters.append(letter)
        return self.answers.get(self.media[-1], Sent(Outcome.OK))


@pytest.fixture
def plan() -> Plan:
    made = world.running_plan()
    nothing_waits(made)
    return made


@pytest.fixture
def robin(plan: Plan) -> Recipient:
    return plan.practice.recipients.get()


def no_such_box() -> ByMedium:
    return ByMedium(email=Sent(Outcome.PERMANENT, "the mail server answered 550"))


def test_a_refused_e_mail_goes_as_a_text_within_the_next_two_minutes(plan, robin):
    check_in = plan.check_ins.first()
    first, post = message(plan, to=robin, check_ins=[check_in]), no_such_box()

    send_due(now=EVENING, choose=post)
    send_due(now=EVENING + 2 * MINUTE, choose=post)

    second = plan.messages.exclude(pk=first.pk).get()
    assert (state(first), state(second)) == (Message.State.FAILED, Message.State.SENT)
    assert post.letters[-1].to == robin.person.mobile
    assert (second.chain_key, list(second.check_ins.all())) == (first.key, [check_in])
    assert second.message_id != first.message_id


def test_a_refused_address_is_a_line_for_the_desk_once(plan, robin):
    for number in range(2):
        message(plan, to=robin, key=f"m{number}")
        send_due(now=EVENING, choose=no_such_box())

    task = plan.tasks.get()
    assert task.kind == Task.Kind.MEND_ADDRESS
    assert task.text.startswith(f"{robin.person}: e-mail does not get through (the mail server answered 550)")


def test_a_person_who_cannot_be_reached_either_way_is_a_call_and_nothing_goes_round_in_circles(plan, robin):
    refused = Sent(Outcome.PERMANENT, "no such address")
    message(plan, to=robin)
    for minutes in range(0, 20, 2):
        send_due(now=EVENING + minutes * MINUTE, choose=ByMedium(email=refused, sms=refused))

    assert sorted(plan.messages.values_list("medium", "state")) == [("email", "failed"), ("sms", "failed")]
    assert plan.tasks.filter(kind=Task.Kind.PHONE).count() == 1


def test_what_may_have_arrived_is_not_sent_by_a_second_way(plan, robin):
    message(plan, to=robin)
    for minutes in (0, 10, 20):
        send_due(now=EVENING + minutes * MINUTE, choose=Post(Sent(Outcome.UNKNOWN)))

    assert plan.messages.get().state == Message.State.PARKED
    assert plan.tasks.get().text.endswith("may or may not have arrived")


def test_an_owner_with_one_address_gets_a_call(plan, robin):
    Owner.objects.update(mobile="")
    message(plan, to=robin)

    send_due(now=EVENING, choose=no_such_box())

    assert plan.messages.count() == 1
    assert plan.tasks.filter(kind=Task.Kind.PHONE).count() == 1


def test_advice_does_not_wait_for_a_mail_server_it_goes_as_a_text(plan, robin):
    advice, post = message(plan, to=robin, **ADVICE), ByMedium(email=DOWN)
    for minutes in range(6):
        send_due(now=EVENING + minutes * MINUTE, choose=post)

    assert state(advice) == Message.State.FAILED
    assert plan.messages.get(medium=Message.Medium.SMS).state == Message.State.SENT
    assert plan.messages.get(medium=Message.Medium.SMS).sent_at <= EVENING + 5 * MINUTE
    assert not plan.tasks.exists()


def test_advice_that_has_no_other_way_is_a_call_at_once_and_still_goes_when_the_server_is_back(plan, robin):
    Owner.objects.update(mobile="")
    advice = message(plan, to=robin, **ADVICE)
    Route.objects.create(
        name="installation:email", failures=3, shut_until=EVENING + 5 * MINUTE, why="no connection to the mail server"
    )

    send_due(now=EVENING, choose=Post())
    assert state(advice) == Message.State.READY
    assert plan.tasks.get().text.endswith("cannot go out at present: no connection to the mail server")

    assert send_due(now=EVENING + 5 * MINUTE, choose=Post()) == 1
