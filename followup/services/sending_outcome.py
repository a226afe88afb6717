"""What became of a send, written down only by the worker that still holds the lease.

What follows from an outcome is decided in domain/delivery.py. What will not reach an owner one way goes another way, or
a person is called; an alert that did not surely arrive goes to the next channel and person at once. Source: clinical
defaults, 13; DEVELOPERS.md, "Delivery".
"""

from __future__ import annotations

import datetime as dt
import random

from django.db import models, transaction

from followup.domain.alerting import EVERYONE, NEXT_PERSON
from followup.domain.delivery import FIRST_WAIT, LEAST_JITTER, MOST_JITTER, Fate, Tried, fate_of, wait_before
from followup.domain.delivery import waits_for_its_channel as no_fault_of_its_own
from followup.messaging.channel import Outcome, Sent
from followup.models import Flag, Message, Task
from followup.services.outbox import ADVICE_PRIORITY, can_take, queue_instead
from followup.services.pace import paced
from followup.services.unasked import were_not_asked

SHUT = "cannot go out at present"
MAY_HAVE_ARRIVED = "may or may not have arrived"


@transaction.atomic(savepoint=False)
def record(message: Message, sent: Sent, channel: str, *, now: dt.datetime) -> bool:
    """Write the outcome down; False when the lease was lost meanwhile, and then nothing changes."""
    tried = _tried(message, sent)
    fate = fate_of(tried)
    if fate is Fate.SENT:
        return finish(
            message, state=Message.State.SENT, sent_at=now, sent_through=channel, last_error_class="", last_error=""
        )
    stood = finish(message, **_changes(message, tried, fate, sent, now=now), last_error=sent.text)
    if stood:
        _alert_the_next(message, now=now)
    if stood and fate is Fate.FAILED:
        another_way(message, f"could not be sent: {sent.text}", now=now)
        _mend_the_address(message, sent, now=now)
    if stood and fate is Fate.PARKED:
        hand_to_a_person(message, MAY_HAVE_ARRIVED, now=now)
    return stood


def record_unknown(message: Message, *, now: dt.datetime, why: str = "no word") -> bool:
    """It may have gone out: one more try, then a person. An alert is never parked; its flag goes on to others."""
    return record(message, Sent(Outcome.UNKNOWN, why), "none", now=now)


def finish(message: Message, **changes: object) -> bool:
    """End this worker's lease. The token fences: a worker whose lease ran out changes nothing."""
    held = Message.objects.filter(pk=message.pk, state=Message.State.LEASED, lease_token=message.lease_token)
    return held.update(lease_token=None, lease_until=None, begun_at=None, **changes) == 1


def put_back(message: Message, *, until: dt.datetime) -> bool:
    """It was not handed in: it waits `until` then, and the try does not count."""
    return finish(
        message,
        state=Message.State.READY,
        attempts=message.attempts - 1,
        not_before=min(until, message.expires_at),
    )


@transaction.atomic
def pass_on(message: Message, why: str, *, now: dt.datetime) -> None:
    """Advice whose way out is shut goes by another at once; where there is none it waits, and a person is called."""
    if _other_medium(message) is None:
        hand_to_a_person(message, f"{SHUT}: {why}", now=now)
        return
    ready = Message.objects.filter(pk=message.pk, state=Message.State.READY)
    if ready.update(state=Message.State.FAILED, last_error_class=Outcome.TRANSIENT, last_error=why):
        another_way(message, why, now=now)


def another_way(message: Message, why: str, *, now: dt.datetime) -> None:
    """An owner's message that failed goes by his other medium, once; else it is a call. Inside a transaction."""
    medium = _other_medium(message)
    if medium is None or queue_instead(message, medium, now=now) is None:
        hand_to_a_person(message, why, now=now)


def hand_to_a_person(message: Message, why: str, *, now: dt.datetime) -> None:
    """An owner's message that will not go out is a call on the list."""
    if message.audience != Message.Audience.OWNER or message.plan is None:
        return
    were_not_asked([message.pk])
    who = str(message.recipient.person) if message.recipient is not None else "the owner"
    Task.objects.get_or_create(
        practice_id=message.practice_id,
        key=f"undelivered:{message.pk}",
        defaults={
            "plan": message.plan,
            "kind": Task.Kind.PHONE,
            "text": f"Phone {who}: the message “{message.subject}” {why}",
            "due_at": now,
            "made_at": now,
        },
    )


def _tried(message: Message, sent: Sent) -> Tried:
    patient = message.priority > ADVICE_PRIORITY
    return Tried(
        outcome=sent.outcome,
        attempts=message.attempts,
        most_attempts=message.max_attempts,
        unknown=message.unknown_outcomes + (sent.outcome is Outcome.UNKNOWN),
        whole_channel=sent.whole_channel,
        to_staff=message.audience == Message.Audience.STAFF,
        patient=patient,
        other_way=sent.whole_channel and not patient and _other_medium(message) is not None,
    )


def _changes(message: Message, tried: Tried, fate: Fate, sent: Sent, *, now: dt.datetime) -> dict[str, object]:
    """The message's columns after a try that did not surely succeed."""
    changes: dict[str, object] = {"last_error_class": tried.outcome, "unknown_outcomes": tried.unknown}
    if fate is not Fate.AGAIN:
        return changes | {"state": Message.State.FAILED if fate is Fate.FAILED else Message.State.PARKED}
    if no_fault_of_its_own(tried):
        changes["max_attempts"] = models.F("max_attempts") + 1
    later = now + max(paced(_wait(tried)), dt.timedelta(seconds=sent.wait))
    return changes | {"state": Message.State.READY, "not_before": min(later, message.expires_at)}


def _wait(tried: Tried) -> dt.timedelta:
    """How long the next try waits, by our own reckoning."""
    if tried.outcome is Outcome.UNKNOWN:
        return FIRST_WAIT
    return wait_before(tried.attempts, jitter=random.uniform(LEAST_JITTER, MOST_JITTER))  # noqa: S311 - guards nothing


def _other_medium(message: Message) -> Message.Medium | None:
    """A medium by which nothing of this chain has been tried yet, and for which the person has an address."""
    if message.audience != Message.Audience.OWNER or message.recipient is None:
        return None
    tried = set(Message.objects.filter(chain_key=message.chain_key or message.key).values_list("medium", flat=True)) | {
        message.medium
    }
    return next((each for each in Message.Medium if each not in tried and can_take(message.recipient, each)), None)


def _mend_the_address(message: Message, sent: Sent, *, now: dt.datetime) -> None:
    """An address that was refused for good is wrong: whoever is at the desk asks for the right one."""
    if sent.outcome is not Outcome.PERMANENT or message.recipient is None or message.plan is None:
        return
    person = message.recipient.person
    Task.objects.get_or_create(
        practice_id=message.practice_id,
        key=f"address:{message.plan_id}:{message.recipient_id}:{message.medium}",
        defaults={
            "plan": message.plan,
            "kind": Task.Kind.MEND_ADDRESS,
            "text": f"{person}: {message.get_medium_display()} does not get through ({sent.text}). Ask for the right "
            "address.",
            "due_at": now,
            "made_at": now,
        },
    )


def _alert_the_next(message: Message, *, now: dt.datetime) -> None:
    """The next person, by every channel, at the next tick; after everyone was tried, the usual pace again."""
    if message.audience != Message.Audience.STAFF or message.flag_id is None:
        return
    waiting = Flag.objects.open().filter(pk=message.flag_id, acknowledged_at=None, outcome="")
    if not waiting.filter(step__lt=NEXT_PERSON).update(step=NEXT_PERSON, next_alert_at=now):
        waiting.filter(step__lte=EVERYONE).update(next_alert_at=now)
