"""A time typed by an owner that is still to come, or was before the operation: asked about, never changed.

"Last ate at 19:00", typed at 7:40, is yesterday evening, and nobody doubts it. "At 20:00", typed at 18:30, would be
long ago: that may be right, and is asked. What was before the operation says nothing about the recovery.
"""

from __future__ import annotations

import datetime as dt

from followup.domain.hours import OwnerHours
from followup.domain.question_words import gettext_noop
from followup.domain.told import CLOCK, told_by
from followup.domain.weighing import Doubt

_ = gettext_noop
LONG_AGO = dt.timedelta(hours=18)
"""Yesterday's time is asked about when it is longer ago than this: a slip is likelier than so long a time (ours)."""
BEFORE = _("%(typed)s was before the operation, which ended at %(ended)s. Tell us what you saw since then.")
YESTERDAY = _("It is %(now)s now, so %(typed)s was yesterday. Is that right? Send it again to say yes.")


def doubt_about_time(typed: str, now: dt.datetime, hours: OwnerHours, *, since: dt.datetime) -> Doubt | None:
    """What is odd about a typed clock time; None: nothing, or it is none. `since`: the end of surgery."""
    when = told_by(typed, now, hours, since=since) if CLOCK.match(typed.strip()) else None
    if when is None or when.told is None:
        return None
    local, moment = hours.local(now), when.told.latest
    words = {"typed": typed.strip(), "now": f"{local:%H:%M}", "ended": f"{hours.local(since):%H:%M}"}
    if moment < since:
        return Doubt((BEFORE,), words)
    is_yesterdays = hours.local(moment).date() < local.date()
    return Doubt((YESTERDAY,), words, may_stand=True) if is_yesterdays and now - moment > LONG_AGO else None
