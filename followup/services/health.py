"""Whether sending works, for people and for watchers outside. Times, counts and sentences: nothing of a practice."""

from __future__ import annotations

import datetime as dt
from typing import Any

from followup.models import Count
from followup.services.sending_state import CLOCK_FAULTS, sending_state
from followup.services.sending_words import reason

COUNTED = ("night_sends", *CLOCK_FAULTS)


def health(now: dt.datetime) -> dict[str, Any]:
    """`ok` is false when sending has been down for three minutes; `reasons` say why. Times are ISO 8601, or null."""
    state = sending_state(now=now)
    counted = dict(Count.objects.filter(name__in=COUNTED).values_list("name", "number"))
    times = {
        "last_tick": state.tick,
        "oldest_overdue": state.oldest_overdue,
        "last_sent": state.sent,
        "last_reply": state.reply,
        "last_canary": state.canary,
    }
    return {
        "ok": not state.hindrances,
        **{name: at.isoformat() if at is not None else None for name, at in times.items()},
        **{name: counted.get(name, 0) for name in COUNTED},
        "reasons": [reason(each, dt.UTC, now=now) for each in state.hindrances],
    }


def cannot_be_asked() -> dict[str, Any]:
    """What is said when the database does not answer."""
    return {"ok": False, "reasons": ["The database cannot be asked."]}
