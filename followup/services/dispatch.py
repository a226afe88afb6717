"""Sending what is due: claim, commit, send, record. Never inside a transaction.

A claim is a lease with a fencing token that runs out, so a killed worker loses nothing; an outcome is written only with
the token. It may run twice, or twice at once. Source of the policies: docs in DEVELOPERS.md, "Delivery".
"""

from __future__ import annotations

import datetime as dt
import logging
import time
import uuid
from contextlib import suppress

from django.db import IntegrityError, transaction

from followup.messaging.channel import Letter, Outcome, Sent
from followup.models import Message, SendAttempt
from followup.services.channels import Choose, configured
from followup.services.last_look import must_wait, no_longer_wanted
from followup.services.letters import letter_for
from followup.services.sending_outcome import finish, hand_to_a_person, record, record_unknown

logger = logging.getLogger(__name__)

LEASE = dt.timedelta(seconds=90)
"""Above the 40 s that one send may take in all, with room."""
GOES_ON_FOR = 20.0
"""Seconds of one run, after which no further message is claimed: the next tick goes on."""
MOST_IN_ONE_GO = 500


def send_due(
    *,
    now: dt.datetime,
    choose: Choose = configured,
    audience: Message.Audience | None = None,
    begun: float | None = None,
) -> int:
    """Send everything that is due, alerts to staff first; returns how many went out.

    `begun`: when `now` was read, on the monotonic clock; leases are counted from the real moment of their claim.
    """
    give_up_what_is_late(now=now)
    take_back_lost_leases(now=now)
    leave_the_older(now=now)
    here = time.monotonic()
    since = here if begun is None else begun
    sent = 0
    for _ in range(MOST_IN_ONE_GO):
        passed = dt.timedelta(seconds=time.monotonic() - since)
        claimed = _claim(now=now, until=now + passed + LEASE, audience=audience)
        if claimed is None:
            break
        sent += _deliver(*claimed, now=now, choose=choose)
        if time.monotonic() - here > GOES_ON_FOR:
            break
    return sent


def give_up_what_is_late(*, now: dt.datetime) -> None:
    """What is no longer worth sending is not sent late: it becomes a task for staff."""
    for message in Message.objects.run_out(now).select_related("plan", "recipient__person")[:MOST_IN_ONE_GO]:
        with transaction.atomic():
            if _move(message, Message.State.READY, state=Message.State.EXPIRED):
                hand_to_a_person(message, "was not sent in time", now=now)


def take_back_lost_leases(*, now: dt.datetime) -> None:
    """A lease that ran out is an unknown outcome: one more try, then a person. An alert is never parked."""
    for message in Message.objects.lease_lost(now).select_related("plan", "recipient__person")[:MOST_IN_ONE_GO]:
        record_unknown(message, now=now, why="the worker did not report back")


def leave_the_older(*, now: dt.datetime) -> None:
    """Of several check-ins due to one person only the newest goes out, after an outage."""
    due = Message.objects.due(now).exclude(collapse_key="").order_by("recipient_id", "collapse_key", "-due_at", "-pk")
    newest: set[tuple[int | None, str]] = set()
    for message in due[:MOST_IN_ONE_GO]:
        key = (message.recipient_id, message.collapse_key)
        if key in newest:
            _move(message, Message.State.READY, state=Message.State.SUPERSEDED)
        newest.add(key)


def _claim(
    *, now: dt.datetime, until: dt.datetime, audience: Message.Audience | None
) -> tuple[Message, uuid.UUID] | None:
    """Lease the first due message to this worker, with its token; None when nothing is due."""
    due = Message.objects.due(now)
    if audience is not None:
        due = due.filter(audience=audience)
    for pk, attempts in due.order_by("priority", "not_before", "pk").values_list("pk", "attempts")[:10]:
        token = uuid.uuid4()
        if message := _lease(pk, attempts, token, until=until):
            return message, token
    return None


def _lease(pk: int, attempts: int, token: uuid.UUID, *, until: dt.datetime) -> Message | None:
    """The message with its lease, or None when another worker has it. Durable: refuses to run in a transaction."""
    with suppress(IntegrityError), transaction.atomic(durable=True):  # another one is on its way to the same person
        Message.objects.filter(pk=pk, state=Message.State.READY, attempts=attempts).update(
            state=Message.State.LEASED, attempts=attempts + 1, lease_token=token, lease_until=until
        )
    whole = ("practice", "plan__practice", "plan__patient", "recipient__person", "recipient__practice", "staff", "flag")
    return Message.objects.select_related(*whole).filter(pk=pk, lease_token=token).first()


def _deliver(message: Message, token: uuid.UUID, *, now: dt.datetime, choose: Choose) -> bool:
    """Send one leased message and record what became of it; True when it went out."""
    reason = no_longer_wanted(message)
    if reason:
        finish(message, state=Message.State.CANCELLED, last_error=reason)
        return False
    if must_wait(message, now=now):
        return False
    letter = letter_for(message)
    if letter is None:
        record(message, Sent(Outcome.PERMANENT, "there is no address"), "none", now=now)
        return False
    attempt = SendAttempt.objects.create(message=message, number=message.attempts, lease_token=token, started_at=now)
    channel, sent = _send(message, letter, choose)
    stood = record(message, sent, channel, now=now)
    SendAttempt.objects.filter(pk=attempt.pk).update(
        finished_at=now, outcome=sent.outcome if stood else SendAttempt.Outcome.STALE, text=sent.text
    )
    return stood and sent.outcome is Outcome.OK


def _send(message: Message, letter: Letter, choose: Choose) -> tuple[str, Sent]:
    try:
        channel = choose(message)
    except Exception:
        # An address that cannot be read or decrypted: nothing was sent, and nothing will be until it is mended.
        logger.exception("message %s: its channel is set up wrongly", message.pk)
        return "none", Sent(Outcome.CONFIG, "the channel is set up wrongly", whole_channel=True)
    try:
        return channel.name, channel.send(letter)
    except Exception as fault:
        # A provider's library may raise anything; what is not known to have failed is unknown.
        logger.exception("message %s: the channel broke", message.pk)
        return channel.name, Sent(Outcome.UNKNOWN, type(fault).__name__)


def _move(message: Message, old: Message.State, **changes: object) -> bool:
    return Message.objects.filter(pk=message.pk, state=old).update(**changes) == 1
