"""Claiming: one message is leased to this worker, with a token that fences it from every other."""

from __future__ import annotations

import datetime as dt
import time
import uuid
from contextlib import suppress
from dataclasses import dataclass, field

from django.db import IntegrityError, transaction

from followup.domain.delivery import LEASE, TRUSTED_FOR
from followup.models import Gap, Message
from followup.models.message import MessageQuerySet
from followup.services.lanes import Lane
from followup.services.pace import paced
from followup.services.turns import claimable

WHOLE = ("practice", "plan__patient", "recipient__person", "staff", "flag")
Queues = tuple[MessageQuerySet, ...]
TRIES = 20
"""Races that one claim may lose to other workers before the next tick goes on."""


@dataclass(frozen=True)
class Claim:
    """A message that this worker holds. `at`: when it was claimed, on the monotonic clock."""

    message: Message
    token: uuid.UUID
    at: float = field(default_factory=time.monotonic)

    def trusted(self) -> bool:
        """Whether enough of the lease is left to begin a send, whatever the machine's wall clock says."""
        return time.monotonic() - self.at < paced(LEASE).total_seconds() * TRUSTED_FOR


def queues(lane: Lane, *, now: dt.datetime) -> Queues:
    """What is due in the lane, the most pressing first.

    One queue for each priority, so that the index ends the search at `now` in each; written down once for all claims of
    a run, since that takes longer than to ask it.
    """
    due = lane.messages(now).whose_person_is_free().order_by("not_before", "pk")
    return tuple(due.filter(priority=priority) for priority in lane.priorities)


def claim(of: Queues, *, now: dt.datetime, until: dt.datetime, gap: Gap | None = None) -> Claim | None:
    """The most pressing message that is due, leased until `until`; None when nothing is due.

    `gap`: what owners are held or slowed for.
    """
    for due in of:
        for _ in range(TRIES):
            token = uuid.uuid4()
            found = _lease(claimable(due, gap, now=now), token, until=until)
            if found is None:
                break
            if message := _leased(found, token):
                return Claim(message, token)
    return None


def _lease(due: MessageQuerySet, token: uuid.UUID, *, until: dt.datetime) -> int | None:
    """Lease the first of these; its id, or None when none is due. Durable: refuses to run in a transaction."""
    pk = None
    # Two that are claimed at once for one person: the table lets only one of them be on its way.
    with suppress(IntegrityError), transaction.atomic(durable=True):
        row = due.select_for_update(skip_locked=True, of=("self",)).values_list("pk", "attempts").first()
        if row is not None:
            pk, attempts = row
            Message.objects.filter(pk=pk, state=Message.State.READY).update(
                state=Message.State.LEASED, attempts=attempts + 1, lease_token=token, lease_until=until
            )
    return pk


def _leased(pk: int, token: uuid.UUID) -> Message | None:
    """The message, if it is ours. Its plan and its recipient are of the same practice, which is read once."""
    message = Message.objects.select_related(*WHOLE).filter(pk=pk, lease_token=token).first()
    if message is not None and message.plan is not None:
        message.plan.practice = message.practice
    if message is not None and message.recipient is not None:
        message.recipient.practice = message.practice
    return message
