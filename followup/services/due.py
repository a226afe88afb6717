"""The next moment at which anything is due: what the demo's clock stops at, so that it never jumps over an hour."""

from __future__ import annotations

import datetime as dt

from django.db.models import Min

from followup.models import CheckIn, Dose, Flag, Message, Notice, Plan, Reply
from followup.services.reply import LEFT_UNFINISHED


def next_due(now: dt.datetime) -> dt.datetime | None:
    """The first moment after `now` at which a tick would have something to do; None when nothing lies ahead."""
    running = {"plan__state": Plan.State.RUNNING, "plan__paused": ""}
    moments = [
        Message.objects.filter(state=Message.State.READY, not_before__gt=now).aggregate(at=Min("not_before"))["at"],
        CheckIn.objects.filter(**running, state=CheckIn.State.PLANNED, at__gt=now).aggregate(at=Min("at"))["at"],
        CheckIn.objects.filter(**running, state=CheckIn.State.ASKED, remind_at__gt=now).aggregate(at=Min("remind_at"))[
            "at"
        ],
        Dose.objects.filter(**running, state=Dose.State.PLANNED, reminded_at=None, at__gt=now).aggregate(at=Min("at"))[
            "at"
        ],
        Plan.objects.running().filter(look_again_at__gt=now).aggregate(at=Min("look_again_at"))["at"],
        _unfinished(now),
        Notice.objects.filter(done_at=None, at__gt=now).aggregate(at=Min("at"))["at"],
        Flag.objects.open().filter(next_alert_at__gt=now).aggregate(at=Min("next_alert_at"))["at"],
        Flag.objects.open().filter(second_carer_at__gt=now).aggregate(at=Min("second_carer_at"))["at"],
    ]
    return min((at for at in moments if at is not None), default=None)


def _unfinished(now: dt.datetime) -> dt.datetime | None:
    """When the first half-finished reply is taken in as it stands."""
    begun = Reply.objects.filter(state=Reply.State.STORED).aggregate(at=Min("received_at"))["at"]
    taken = begun + LEFT_UNFINISHED if begun is not None else None
    return taken if taken is not None and taken > now else None
