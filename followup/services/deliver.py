"""One claimed message on its way: the last look, the hand-over to the channel, and what came of it."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from django.db import transaction

from followup.messaging.channel import Letter, Outcome, Sent
from followup.models import Message, SendAttempt
from followup.services.call_instead import Unsent, call_instead
from followup.services.channels import Choose, hand_in
from followup.services.claim import Claim
from followup.services.last_look import A_MINUTE, STOPPED, must_wait, no_longer_wanted, would_wake
from followup.services.letters import letter_for
from followup.services.sending_outcome import finish, put_back, record
from followup.services.turns import may_go
from followup.services.unasked import ask_again, were_not_asked


@dataclass(frozen=True)
class Delivered:
    """What came of one claim. `sent` is None when nothing was handed in; `went_out`: it left."""

    sent: Sent | None = None
    went_out: bool = False


def deliver(claim: Claim, *, now: dt.datetime, choose: Choose) -> Delivered:
    """Send one leased message and record what became of it."""
    message = claim.message
    letter = _wanted(message, now=now)
    attempt = _begin(claim, now=now) if letter is not None else None
    if letter is None or attempt is None:
        return Delivered()
    channel, sent = hand_in(letter, message, choose)
    stood = _record(attempt, message, sent, channel, now=now)
    return Delivered(sent, went_out=stood and sent.outcome is Outcome.OK)


def _wanted(message: Message, *, now: dt.datetime) -> Letter | None:
    """The letter, if the message is still wanted, may reach its reader now, and has an address; else its lease ends."""
    if reason := no_longer_wanted(message):
        _called_off(message, reason, now=now)
        return None
    if must_wait(message, now=now):
        return None
    letter = letter_for(message)
    if letter is None:
        record(message, Sent(Outcome.PERMANENT, "there is no address"), "none", now=now)
        return None
    return letter if not would_wake(message, now=now) and may_go(message, now=now) else None


@transaction.atomic
def _called_off(message: Message, reason: str, *, now: dt.datetime) -> None:
    """It is not sent after all: what it asked is asked anew, in words that are true.

    What somebody asked to get no more, and was queued at that very moment, is a call.
    """
    ended = finish(message, state=Message.State.CANCELLED, last_error=reason)
    if ended and reason != STOPPED:
        ask_again([message.pk])
    if ended and reason == STOPPED and message.plan is not None and message.recipient is not None:
        call_instead(message.plan, message.recipient, Unsent.of(message), now=now)
        were_not_asked([message.pk])


@transaction.atomic
def _begin(claim: Claim, *, now: dt.datetime) -> SendAttempt | None:
    """From here on it cannot be recalled any more; None when it was, or when the lease is another worker's."""
    message = claim.message
    if not claim.trusted():
        put_back(message, until=now)
        return None
    ours = Message.objects.filter(pk=message.pk, state=Message.State.LEASED, lease_token=claim.token, begun_at=None)
    if not ours.exclude(audience=Message.Audience.OWNER, practice__messages_paused=True).update(begun_at=now):
        put_back(message, until=now + A_MINUTE)  # paused since it was claimed; one that is not ours is left alone
        return None
    return SendAttempt.objects.create(message=message, number=message.attempts, lease_token=claim.token, started_at=now)


@transaction.atomic
def _record(attempt: SendAttempt, message: Message, sent: Sent, channel: str, *, now: dt.datetime) -> bool:
    """What became of the message and of this try, in one commit; False when the lease was lost meanwhile."""
    stood = record(message, sent, channel, now=now)
    SendAttempt.objects.filter(pk=attempt.pk).update(
        finished_at=now, outcome=sent.outcome if stood else SendAttempt.Outcome.STALE, text=sent.text
    )
    return stood
