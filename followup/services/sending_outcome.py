"""What became of a send, written down only by the worker that still holds the lease.

Retrying is decided here: not now → later, never → a person, unknown → one more try, then a person. An alert that did
not surely arrive goes to the next channel and person at once. Source: clinical defaults, 13; DEVELOPERS.md, "Delivery".
"""

from __future__ import annotations

import datetime as dt
import random

from django.db import transaction

from followup.domain.alerting import EVERYONE, NEXT_PERSON
from followup.messaging.channel import Outcome, Sent
from followup.models import CheckIn, Flag, Heartbeat, Message, Task
from followup.services.outbox import ADVICE_PRIORITY

FIRST_WAIT = dt.timedelta(seconds=30)
LONGEST_WAIT = dt.timedelta(minutes=15)
MOST_UNKNOWN = 2


@transaction.atomic
def record(message: Message, sent: Sent, channel: str, *, now: dt.datetime) -> bool:
    """Write the outcome down; False when the lease was lost meanwhile, and then nothing changes."""
    if sent.outcome is Outcome.OK:
        Heartbeat.objects.beat("sent", now)
        went = {"state": Message.State.SENT, "sent_at": now, "sent_through": channel}
        return finish(message, **went, last_error_class="", last_error="")
    if sent.outcome is Outcome.UNKNOWN:
        return record_unknown(message, now=now, why=sent.text)
    never = sent.outcome is Outcome.PERMANENT or _tried_enough(message, sent)
    changes = (
        {"state": Message.State.FAILED} if never else {"state": Message.State.READY, "not_before": _later(message, now)}
    )
    stood = finish(message, **changes, last_error_class=sent.outcome, last_error=sent.text)
    if stood:
        _alert_the_next(message, now=now)
    if stood and never:
        hand_to_a_person(message, f"could not be sent: {sent.text}", now=now)
    return stood


@transaction.atomic
def record_unknown(message: Message, *, now: dt.datetime, why: str = "no word") -> bool:
    """It may have gone out: one more try, then a person. An alert is never parked; its flag goes on to others."""
    alert = message.audience == Message.Audience.STAFF
    again = message.unknown_outcomes + 1 < MOST_UNKNOWN
    at_the_end = Message.State.FAILED if alert else Message.State.PARKED
    stood = finish(
        message,
        state=Message.State.READY if again else at_the_end,
        unknown_outcomes=message.unknown_outcomes + 1,
        not_before=min(now + FIRST_WAIT, message.expires_at),
        last_error_class=Outcome.UNKNOWN,
        last_error=why,
    )
    if stood:
        _alert_the_next(message, now=now)
    if stood and not again:
        hand_to_a_person(message, "may or may not have arrived", now=now)
    return stood


def finish(message: Message, **changes: object) -> bool:
    """End this worker's lease. The token fences: a worker whose lease ran out changes nothing."""
    held = Message.objects.filter(pk=message.pk, state=Message.State.LEASED, lease_token=message.lease_token)
    return held.update(lease_token=None, lease_until=None, **changes) == 1


def hand_to_a_person(message: Message, why: str, *, now: dt.datetime) -> None:
    """An owner's message that will not go out is a call on the list."""
    if message.audience == Message.Audience.STAFF or message.plan is None:
        return
    reached = CheckIn.objects.filter(messages__state=Message.State.SENT)  # another way, or another person
    asked = CheckIn.objects.filter(messages=message, state=CheckIn.State.ASKED)
    asked.exclude(pk__in=reached).update(could_not_be_asked=True)
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


def _tried_enough(message: Message, sent: Sent) -> bool:
    """Six refusals are enough. While a whole channel is down, what is not advice waits for it until it is too late."""
    waits_it_out = sent.whole_channel and message.priority > ADVICE_PRIORITY
    return message.attempts >= message.max_attempts and not waits_it_out


def _alert_the_next(message: Message, *, now: dt.datetime) -> None:
    """The next person, by every channel, at the next tick; after everyone was tried, the usual pace again."""
    if message.audience != Message.Audience.STAFF or message.flag_id is None:
        return
    waiting = Flag.objects.open().filter(pk=message.flag_id, acknowledged_at=None, outcome="")
    if not waiting.filter(step__lt=NEXT_PERSON).update(step=NEXT_PERSON, next_alert_at=now):
        waiting.filter(step__lte=EVERYONE).update(next_alert_at=now)


def _later(message: Message, now: dt.datetime) -> dt.datetime:
    """30 s, doubled with each try, half as much more or less, at most a quarter of an hour, never past the end."""
    jitter = random.uniform(0.5, 1.5)  # noqa: S311 - spreads retries, guards nothing
    wait: dt.timedelta = min(FIRST_WAIT * 2 ** min(message.attempts - 1, 10), LONGEST_WAIT)
    return min(now + wait * jitter, message.expires_at)
