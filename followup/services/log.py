"""The log of what happened, written by the service that makes the change."""

from __future__ import annotations

import datetime as dt

from clinic.models import Practice, Staff
from followup.models import Event, Plan


def log(
    about: Plan | Practice,
    what: str,
    text: str = "",
    *,
    now: dt.datetime,
    staff: Staff | None = None,
    **data: object,
) -> Event:
    """Write down that `what` (a stable word) happened at `now`; `text` is for people, `data` holds ids and values."""
    plan = about if isinstance(about, Plan) else None
    return Event.objects.create(
        practice_id=plan.practice_id if plan else about.pk,
        plan=plan,
        at=now,
        staff=staff,
        what=what,
        text=text,
        data=data,
    )
