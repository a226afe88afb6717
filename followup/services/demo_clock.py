"""Moving the demo's clock on. It never jumps: every tick on the way is run at its own moment."""

from __future__ import annotations

import datetime as dt

from clinic.models import ClockOffset
from followup.services.due import next_due
from followup.services.tick import tick

MOST_TICKS = 400
JUST_AFTER = dt.timedelta(seconds=1)


def move_on(by: dt.timedelta | None, *, now: dt.datetime) -> dt.datetime:
    """Move the clock on by `by`, or to the next moment at which something is due (None); returns the new time."""
    ahead, _ = ClockOffset.objects.get_or_create(pk=1)
    target = now + by if by is not None else (next_due(now) or now) + JUST_AFTER
    moment = now
    for _ in range(MOST_TICKS):
        following = next_due(moment)
        if following is None or following > target:
            break
        moment = following
        tick(now=moment, moved_on=ahead.offset + (moment - now))
    tick(now=target, moved_on=ahead.offset + (target - now))
    ahead.offset += target - now
    ahead.save()
    return target
