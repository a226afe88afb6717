"""Lanes: a way out that hangs holds up only itself, an alert least of all; what is called off does not leave."""

from __future__ import annotations

import datetime as dt
import threading
import time

import pytest

from clinic.models import Practice, Role
from followup.domain.delivery import LEASE
from followup.domain.wording import Text
from followup.messaging.channel import Letter, Sent
from followup.models import Count, Flag, Message, Plan, Recipient, SendAttempt
from followup.services import deliver
from followup.services.claim import Claim, claim, queues
from followup.services.dispatch import send_due
from followup.services.lanes import Lane, SideBySide, lanes_due
from followup.services.links import recipient_for
from followup.services.outbox import drop_plan_messages, queue_to_staff
from tests import world
from tests.services.post import EVENING, Post, message, nothing_waits, state

MINUTE = dt.timedelta(minutes=1)
EMAIL = Lane(alerts=False, medium="email")
pytestmark = pytest.mark.django_db


@pytest.fixture
def plan() -> Plan:
    made = world.running_plan()
    nothing_waits(made)
    return made


@pytest.fixture
def robin(plan: Plan) -> Recipient:
    return plan.practice.recipients.get()


def emergency(plan: Plan) -> Flag:
    return plan.flags.create(
        practice=plan.practice,
        concern="eating",
        level=3,
        worst=3,
        opened_at=EVENING,
        raised_at=EVENING,
        updated_at=EVENING,
    )


def alert(plan: Plan) -> Message:
    vet = world.staff(plan.practice, Role.VET)
    made = queue_to_staff(
        emergency(plan), vet, key="a", text=Text("EMERGENCY", "{link}"), now=EVENING, medium=Message.Medium.EMAIL
    )
    assert made is not None
    return made


class Hangs(Post):
    """Texts hang until they are let go; everything else goes at once."""

    def __init__(self) -> None:
        super().__init__()
        self.let_go = threading.Event()
        self.here = threading.local()

    def __call__(self, message: Message) -> Post:
        self.here.medium = message.medium
        return self

    def send(self, letter: Letter) -> Sent:
        if self.here.medium == Message.Medium.SMS:
            self.let_go.wait(30)
        return super().send(letter)


@pytest.mark.django_db(transaction=True)
def test_a_hung_text_service_delays_neither_e_mail_nor_alerts(monkeypatch):
    plan = world.running_plan()
    robin = nothing_waits(plan)
    text = message(plan, to=robin, key="text", medium=Message.Medium.SMS)
    mail, warning = message(plan, to=robin, key="mail"), alert(plan)
    monkeypatch.setattr("followup.services.lanes.PATIENCE", 1.0)
    post, spread = Hangs(), SideBySide()

    send_due(now=EVENING, choose=post, spread=spread)
    assert (state(mail), state(warning), state(text)) == ("sent", "sent", "leased")

    later = message(plan, to=robin, key="later")
    send_due(now=EVENING + MINUTE, choose=post, spread=spread)
    assert (state(later), state(text)) == ("sent", "leased")

    post.let_go.set()
    spread.close()
    assert state(text) == "sent"
    assert len(post.letters) == 4


def test_alerts_have_a_lane_of_their_own_and_come_first(plan, robin):
    message(plan, to=robin)
    message(plan, to=robin, key="text", medium=Message.Medium.SMS)
    alert(plan)

    assert lanes_due(EVENING) == [
        Lane(alerts=True, medium="email"),
        EMAIL,
        Lane(alerts=False, medium="sms"),
    ]


def test_of_two_messages_to_one_person_only_one_is_on_its_way(plan, robin):
    first, second = message(plan, to=robin), message(plan, to=robin, key="two")

    assert claim(queues(EMAIL, now=EVENING), now=EVENING, until=EVENING + LEASE)
    assert claim(queues(EMAIL, now=EVENING), now=EVENING, until=EVENING + LEASE) is None
    assert (state(first), state(second)) == ("leased", "ready")


def test_a_person_who_is_being_written_to_keeps_nobody_else_waiting(plan, robin):
    other = world.running_plan("rabbit")
    message(plan, to=robin)
    message(plan, to=robin, key="two")
    message(other, to=nothing_waits(other), key="three")

    taken = [claim(queues(EMAIL, now=EVENING), now=EVENING, until=EVENING + LEASE) for _ in range(2)]

    assert [each.message.key for each in taken if each] == ["one", "three"]


def test_the_most_pressing_goes_first_and_then_what_has_waited_longest(plan):
    for key, priority, minutes in (("old", 3, 0), ("new", 3, 5), ("advice", 1, 9)):
        message(plan, to=somebody_else(plan), key=key, priority=priority, now=EVENING + minutes * MINUTE)

    now = EVENING + 10 * MINUTE
    taken = [claim(queues(EMAIL, now=now), now=now, until=now + LEASE) for _ in range(3)]

    assert [each.message.key for each in taken if each] == ["advice", "old", "new"]


def somebody_else(plan: Plan) -> Recipient:
    return recipient_for(plan.practice, world.owner(plan.practice), now=EVENING)


def test_what_a_worker_has_and_has_not_begun_to_send_is_recalled(plan, robin):
    row = message(plan, to=robin)
    taken = claim(queues(EMAIL, now=EVENING), now=EVENING, until=EVENING + LEASE)
    assert taken is not None

    assert drop_plan_messages(plan, now=EVENING) == 1
    post = Post()
    deliver.deliver(taken, now=EVENING, choose=post)

    assert (state(row), post.letters) == (Message.State.CANCELLED, [])
    assert not SendAttempt.objects.exists()


def test_what_is_on_its_way_cannot_be_recalled_and_is_written_down_as_sent(plan, robin):
    row = message(plan, to=robin)

    send_due(now=EVENING, choose=Post(meanwhile=lambda: drop_plan_messages(plan, now=EVENING)))

    assert state(row) == Message.State.SENT


def test_a_worker_that_slept_for_most_of_its_lease_hands_nothing_in(plan, robin):
    row = message(plan, to=robin)
    taken = claim(queues(EMAIL, now=EVENING), now=EVENING, until=EVENING + LEASE)
    assert taken is not None
    slept, post = Claim(taken.message, taken.token, at=time.monotonic() - 68), Post()

    deliver.deliver(slept, now=EVENING, choose=post)

    assert (state(row), row.attempts, post.letters) == (Message.State.READY, 0, [])


def test_a_paused_practice_keeps_its_messages_and_sends_its_alerts(plan, robin):
    row, warning = message(plan, to=robin), alert(plan)
    Practice.objects.update(messages_paused=True)

    send_due(now=EVENING, choose=Post())
    assert (state(row), state(warning)) == ("ready", "sent")

    Practice.objects.update(messages_paused=False)
    assert send_due(now=EVENING + MINUTE, choose=Post()) == 1


def test_a_pause_between_claim_and_send_keeps_the_message_too(plan, robin):
    row = message(plan, to=robin)
    taken = claim(queues(EMAIL, now=EVENING), now=EVENING, until=EVENING + LEASE)
    assert taken is not None
    Practice.objects.update(messages_paused=True)
    taken = Claim(Message.objects.select_related("plan__practice", "recipient__person").get(), taken.token)
    post = Post()

    deliver.deliver(taken, now=EVENING, choose=post)

    assert (state(row), post.letters) == (Message.State.READY, [])


def test_a_broken_night_rule_is_caught_at_the_channels_door_and_counted(plan, robin, monkeypatch):
    night = world.at("23:00")
    row, post = message(plan, to=robin, now=night), Post()
    monkeypatch.setattr(deliver, "must_wait", lambda *_args, **_more: False)

    send_due(now=night, choose=post)

    assert (state(row), post.letters) == (Message.State.READY, [])
    assert row.not_before == world.at("07:00", day=1)
    assert Count.objects.of("night_sends") == 1


def test_a_kept_night_rule_counts_nothing(plan, robin):
    message(plan, to=robin, now=world.at("23:00"))

    send_due(now=world.at("23:00"), choose=Post())

    assert Count.objects.of("night_sends") == 0


def test_a_claim_costs_the_same_few_queries_however_much_waits_for_later(plan, robin, django_assert_num_queries):
    def queries() -> int:
        with django_assert_num_queries(8) as seen:  # an empty priority, then the one that holds it; with savepoints
            claim(queues(EMAIL, now=EVENING), now=EVENING, until=EVENING + LEASE)
        return len(seen)

    message(plan, to=robin)
    few = queries()
    Message.objects.update(state="ready", lease_token=None, lease_until=None, attempts=0)
    for number in range(50):
        message(plan, to=robin, key=f"later {number}", not_before=EVENING + (number + 1) * MINUTE)

    assert queries() == few
