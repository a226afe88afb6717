"""What became of the first message, in words for whoever stands at the desk; and putting an address right."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from clinic.models import Carer, Practice
from followup.messaging.channel import Outcome, Sent
from followup.models import Message, Plan, Recipient
from followup.services.dispatch import send_due
from followup.services.first_message import SHOWN_FOR, Standing, first_messages, is_settled
from followup.services.links import recipient_for
from tests import world
from tests.services.post import DOWN, Post
from tests.world import at

pytestmark = pytest.mark.django_db
MINUTE = dt.timedelta(minutes=1)
ENROLLED = at("16:30")
"""Discharge; the first message is held until 16:32."""
REFUSED_FOR_GOOD = Sent(Outcome.PERMANENT, "the mail server answered 550")


def by_mail_alone(where: Practice | None = None) -> Plan:
    return world.running_plan(of=world.owner(where or world.practice(), name="Robin Example", mobile=""))


def told(plan: Plan, now: dt.datetime) -> tuple[Standing, str]:
    (fate,) = first_messages(plan, now=now)
    return fate.standing, fate.words


def sent_at(now: dt.datetime, answer: Sent | None = None) -> None:
    send_due(now=now, choose=Post(answer or Sent(Outcome.OK)), audience=Message.Audience.OWNER)


def test_until_it_goes_it_says_until_when_and_why_it_waits():
    plan = by_mail_alone()

    assert told(plan, ENROLLED) == (
        Standing.COMING,
        "waits until 16:32, so that the enrolment can be taken back; then it goes by e-mail",
    )
    assert told(plan, ENROLLED + 2 * MINUTE) == (Standing.COMING, "on its way by e-mail")


def test_it_says_when_and_how_it_was_sent():
    plan = by_mail_alone()
    now = ENROLLED + 2 * MINUTE
    sent_at(now)

    assert told(plan, now) == (Standing.ARRIVED, "sent by e-mail at 16:32")
    assert is_settled(first_messages(plan, now=now))


def test_an_address_that_is_refused_is_trouble_with_the_reason():
    plan = by_mail_alone()
    now = ENROLLED + 2 * MINUTE
    sent_at(now, REFUSED_FOR_GOOD)

    (fate,) = first_messages(plan, now=now)
    assert (fate.standing, fate.person) == (Standing.TROUBLE, plan.patient.owner_id)
    assert fate.words == "could not be sent by e-mail: the mail server answered 550"


def test_what_goes_by_another_way_instead_says_both():
    plan = world.running_plan()
    now = ENROLLED + 2 * MINUTE
    sent_at(now, REFUSED_FOR_GOOD)
    (fate,) = first_messages(plan, now=now)
    assert fate.before == "By e-mail: the mail server answered 550."
    assert fate.words == "on its way by text message"
    sent_at(now + MINUTE)
    assert told(plan, now + MINUTE) == (Standing.ARRIVED, "sent by text message at 16:33")


def test_a_mail_server_that_is_down_is_said_with_the_next_try():
    plan = by_mail_alone()
    now = ENROLLED + 2 * MINUTE
    sent_at(now, DOWN)

    standing, words = told(plan, now)
    assert standing is Standing.COMING
    assert words.startswith("could not be sent by e-mail yet (no connection); tried again at 16:3")


def test_with_no_provider_it_says_that_nothing_has_left_the_house(settings):
    settings.EMAIL_URL = ""
    plan = by_mail_alone()
    now = ENROLLED + 2 * MINUTE
    send_due(now=now)

    assert told(plan, now) == (
        Standing.IN_THE_TRAY,
        "in the tray: no e-mail is set up, so it has not left this house",
    )
    assert is_settled(first_messages(plan, now=now))


@pytest.mark.parametrize(
    ("state", "standing", "words"),
    [
        ("parked", Standing.TROUBLE, "may or may not have arrived by e-mail: ask"),
        ("expired", Standing.TROUBLE, "was not sent in time by e-mail"),
        ("cancelled", Standing.OVER, "is not sent any more"),
        ("superseded", Standing.OVER, "is not sent any more"),
    ],
)
def test_every_other_end_has_its_words(state, standing, words):
    plan = by_mail_alone()
    plan.messages.update(state=state)

    assert told(plan, ENROLLED) == (standing, words)


def test_every_state_of_a_message_has_words():
    plan = by_mail_alone()
    plan.messages.all().delete()
    whole = {"practice": plan.practice, "plan": plan, "audience": "owner", "medium": "email", "purpose": "welcome"}
    times = {"due_at": ENROLLED, "not_before": ENROLLED, "expires_at": ENROLLED + MINUTE}
    recipient = Recipient.objects.earliest("pk")
    for state in Message.State:
        more: dict[str, Any] = {"sent_at": ENROLLED} if state == Message.State.SENT else {}
        if state == Message.State.LEASED:
            more = {"lease_token": "0" * 32, "lease_until": ENROLLED + MINUTE}
        row = Message.objects.create(**whole, **times, **more, key=state, state=state, recipient=recipient)
        assert told(plan, ENROLLED)[1]
        row.delete()


def test_while_messages_are_paused_it_says_so():
    by_mail_alone()
    Practice.objects.update(messages_paused=True)

    assert told(Plan.objects.get(), ENROLLED) == (Standing.COMING, "waits: messages to owners are paused")


@pytest.mark.parametrize(
    ("changes", "why"),
    [({"email": "", "mobile": ""}, "no e-mail and no mobile"), ({}, "does not want messages")],
)
def test_an_owner_who_is_not_written_to_is_called(changes, why):
    owner = world.owner(world.practice(), landline="+441632960111", **changes)
    plan = world.running_plan(of=owner)
    plan.messages.all().delete()

    assert told(plan, ENROLLED) == (Standing.TROUBLE, f"{why}: every check-in is a call from the list")


def test_each_person_who_is_written_to_has_a_line():
    plan = by_mail_alone()
    carer = world.owner(plan.practice, name="Kim Carer")
    Carer.objects.create(patient=plan.patient, person=carer, second=False)
    first = plan.messages.get()
    Message.objects.filter(pk=first.pk).update(state="failed", last_error="550")
    first.pk, first.key, first.chain_key = None, "another", "another"
    first.recipient = recipient_for(plan.practice, carer, now=ENROLLED)
    first.save()

    assert [(fate.who, fate.standing) for fate in first_messages(plan, now=ENROLLED)] == [
        ("Robin Example", Standing.TROUBLE),
        ("Kim Carer", Standing.COMING),
    ]
    assert not is_settled(first_messages(plan, now=ENROLLED))


def test_a_plan_that_has_not_begun_or_began_long_ago_says_nothing():
    plan = by_mail_alone()
    assert first_messages(plan, now=ENROLLED + SHOWN_FOR + MINUTE) == ()

    plan.confirmed_at = None
    assert first_messages(plan, now=ENROLLED) == ()
