"""The canary: each hour one message of each practice goes the whole way of a message, so that a broken way is seen
before an owner needs it: queued, claimed, leased, handed to Apprise, carried by its adapter, and written down.

Every practice has one, whether or not a recovery runs: else nobody would know in the morning that the night broke it.
It is for nobody: in no tray, in no list, and no task comes of one that fails. Its absence is what is seen.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from clinic.models import Practice
from followup.models import Message
from followup.services.outbox import CANARY_PRIORITY, new_message_id

LASTS = dt.timedelta(hours=1)
"""Then the next one takes its place."""
KEPT_FOR = dt.timedelta(hours=6)
SUBJECT = "Look whether sending works"
BODY = "This message goes out every hour. Nobody has to read it: when it stays away, sending is down."


def queue_canaries(*, now: dt.datetime) -> int:
    """Queue the canary of this hour for every practice that has none yet; returns how many. Two queries, mostly."""
    hour = now.astimezone(dt.UTC).replace(minute=0, second=0, microsecond=0)
    wanted = {key_of(pk, hour): pk for pk in Practice.objects.values_list("pk", flat=True)}
    there = set(Message.objects.filter(key__in=list(wanted)).values_list("key", flat=True))
    new = {key: pk for key, pk in wanted.items() if key not in there}
    if new:
        Message.objects.bulk_create([_canary(key, pk, hour, now) for key, pk in new.items()], ignore_conflicts=True)
        _forget_old_ones(new.values(), now=now)
    return len(new)


def key_of(practice: int, hour: dt.datetime) -> str:
    """The canary of one practice for one hour: there is never a second."""
    return f"canary:{practice}:{hour:%Y%m%d%H}"


def newest_of(practice: Practice) -> Message | None:
    """The practice's last canary that came back."""
    sent = Message.objects.filter(practice=practice, audience=Message.Audience.LOOP, state=Message.State.SENT)
    return sent.order_by("-due_at").first()


def _canary(key: str, practice: int, hour: dt.datetime, now: dt.datetime) -> Message:
    return Message(
        practice_id=practice,
        audience=Message.Audience.LOOP,
        purpose=Message.Purpose.CANARY,
        medium=Message.Medium.EMAIL,
        key=key,
        chain_key=key,
        priority=CANARY_PRIORITY,
        subject=SUBJECT,
        body=BODY,
        due_at=now,
        not_before=now,
        expires_at=hour + LASTS,
        message_id=new_message_id(),
    )


def _forget_old_ones(practices: Iterable[int], *, now: dt.datetime) -> None:
    old = Message.objects.filter(
        practice__in=list(practices), audience=Message.Audience.LOOP, due_at__lt=now - KEPT_FOR
    )
    old.delete()
