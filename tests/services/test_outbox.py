"""Queueing messages and making links: once each, to whoever can be written to; a leaked database opens no page."""

from __future__ import annotations

import datetime as dt

import pytest

from clinic.models import Owner
from followup.domain.wording import Text
from followup.models import Message, Plan, Recipient, Task
from followup.services.links import LinkKeyMissing, find, path_of, recipient_for, url_of
from followup.services.outbox import drop_plan_messages, queue_to_owner
from tests import world
from tests.services.post import EVENING, message, nothing_waits

pytestmark = pytest.mark.django_db


@pytest.fixture
def plan() -> Plan:
    return world.running_plan()


@pytest.fixture
def robin(plan: Plan) -> Recipient:
    return nothing_waits(plan)


def test_the_same_key_queues_once(plan, robin):
    message(plan, to=robin)

    again = queue_to_owner(
        plan,
        robin,
        purpose=Message.Purpose.CHECK_IN,
        key="one",
        text=Text("other", "words"),
        now=EVENING,
        expires_at=EVENING + dt.timedelta(hours=1),
    )

    assert again is None
    assert [each.subject for each in plan.messages.all()] == ["How is Pip?"]


@pytest.mark.parametrize(
    ("email", "mobile", "medium"),
    [
        ("robin@example.org", "+447700900123", "email"),
        ("robin@example.org", "", "email"),
        ("", "+447700900123", "sms"),
    ],
)
def test_e_mail_where_there_is_one_else_a_text(plan, robin, email, mobile, medium):
    Owner.objects.update(email=email, mobile=mobile)
    robin.person.refresh_from_db()

    assert message(plan, to=robin).medium == medium


@pytest.mark.parametrize(
    ("changed", "because"),
    [
        (lambda: Owner.objects.update(email="", mobile="", landline="+441632960777"), ""),
        (lambda: Recipient.objects.update(stopped_at=EVENING), " (they asked for no messages)"),
    ],
)
def test_a_landline_or_a_stop_becomes_one_call(plan, robin, changed, because):
    changed()
    robin = Recipient.objects.get(pk=robin.pk)
    for _ in range(2):
        queued = queue_to_owner(
            plan,
            robin,
            purpose=Message.Purpose.CHECK_IN,
            key="one",
            text=Text("How is Pip?", "Look"),
            now=EVENING,
            expires_at=EVENING + dt.timedelta(hours=1),
        )
        assert queued is None

    assert plan.messages.count() == 0
    assert plan.tasks.get(kind=Task.Kind.PHONE).text == f"Phone {robin.person}: How is Pip?{because}"


def test_a_message_keeps_no_link_only_its_place(plan, robin):
    row = message(plan, to=robin)

    assert "{link}" in row.body
    assert robin.nonce not in row.body + row.subject + row.key + row.message_id


def test_dropping_cancels_what_waits_and_leaves_what_went(plan, robin):
    went, waits = message(plan, to=robin), message(plan, to=robin, key="two")
    Message.objects.filter(pk=went.pk).update(state=Message.State.SENT, sent_at=EVENING)

    assert drop_plan_messages(plan, now=EVENING) == 1

    assert list(plan.messages.order_by("pk").values_list("state", flat=True)) == ["sent", "cancelled"]
    assert waits.state == Message.State.READY  # the row in hand is the old one; the table decides


def test_one_link_for_one_person_and_practice(plan, robin):
    assert recipient_for(plan.practice, robin.person, now=EVENING) == robin
    assert find(plan.practice.slug, path_of(robin).split("/")[3]) == robin
    assert url_of(robin).endswith(path_of(robin))


def code_of(recipient: Recipient) -> str:
    return path_of(recipient).split("/")[3]


def test_a_wrong_code_opens_nothing(plan, robin):
    code = code_of(robin)
    other = world.practice("far-away")
    altered = [code[:-1] + ("A" if code[-1] != "A" else "B"), code[:16], code[:-1], code + "A", "", "é" * 40]

    assert [find(plan.practice.slug, wrong) for wrong in altered] == [None] * 6
    assert find(other.slug, code) is None


def test_without_the_key_the_row_alone_opens_nothing_and_an_old_key_still_does(plan, robin, settings):
    code, old = code_of(robin), dict(settings.LINK_KEYS)

    settings.LINK_KEYS = {**old, max(old) + 1: "a newer key of enough letters, for new links"}
    assert find(plan.practice.slug, code) == robin

    settings.LINK_KEYS = dict.fromkeys(old, "somebody else's key, guessed")
    assert find(plan.practice.slug, code) is None

    settings.LINK_KEYS = {max(old) + 1: "only the newer key is left"}
    assert find(plan.practice.slug, code) is None
    with pytest.raises(LinkKeyMissing):
        path_of(robin)


def test_a_new_value_in_the_row_closes_the_old_link(plan, robin):
    code = code_of(robin)
    Recipient.objects.update(nonce="0123456789abcdef")

    assert find(plan.practice.slug, code) is None


def test_the_code_has_at_least_128_bits_that_are_not_in_the_row(robin):
    assert (len(code_of(robin)) - len(robin.nonce)) * 6 >= 128
