"""Whether sending works, for people and for watchers."""

from __future__ import annotations

import datetime as dt

from followup.models import Heartbeat, Message
from followup.services.pace import paced

DOWN_AFTER = dt.timedelta(minutes=3)


def health(now: dt.datetime) -> dict[str, object]:
    """`ok` is false when no tick was done for three minutes. Times are ISO 8601, or null."""
    last = Heartbeat.objects.last_of("tick")
    waiting = Message.objects.due(now).order_by("not_before").values_list("not_before", flat=True).first()
    sent, reply = Heartbeat.objects.last_of("sent"), Heartbeat.objects.last_of("reply")
    return {
        "ok": last is not None and now - last <= paced(DOWN_AFTER),
        "last_tick": last.isoformat() if last else None,
        "oldest_overdue": waiting.isoformat() if waiting else None,
        "last_sent": sent.isoformat() if sent else None,
        "last_reply": reply.isoformat() if reply else None,
    }
