"""Sending that was down, and what piled up meanwhile."""

from __future__ import annotations

import datetime as dt
import uuid
from typing import Any

from clinic.services.witness import Witness, write_witness
from followup.models import Gap, Installation, Message, Plan, Recipient
from followup.services.gaps import begin, end
from followup.services.links import recipient_for
from tests import world
from tests.services.post import message
from tests.world import at

SECOND, MINUTE, HOUR = dt.timedelta(seconds=1), dt.timedelta(minutes=1), dt.timedelta(hours=1)
NOON = at("12:00")
STOPPED = Gap.Kind.STOPPED


def down_until(moment: dt.datetime, *, since: dt.datetime) -> Gap:
    """What the first tick at `moment` takes down, before it does anything else."""
    begin(now=since)
    end(now=since)
    begin(now=moment)
    return Gap.objects.get(kind=STOPPED, began_at=since)


def witnessed(*, ticks: int, last: dt.datetime, epoch: uuid.UUID | None = None) -> None:
    """What the file beside the database says."""
    write_witness(Witness(epoch or Installation.objects.this().epoch, ticks, last))


def people(plan: Plan, number: int, *, now: dt.datetime, each: int = 1, **changes) -> None:
    """So many carers of one patient to whom something is due."""
    for person in range(number):
        somebody = world.owner(plan.practice)
        to = recipient_for(plan.practice, somebody, part=Recipient.Part.CARER, now=now)
        for one in range(each):
            facts: dict[str, Any] = {
                "purpose": Message.Purpose.NEWS,
                "key": f"{person}-{one}",
                "expires_at": now + 48 * HOUR,
            }
            message(plan, to=to, now=now, **facts | changes)
