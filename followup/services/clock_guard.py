"""A clock that was set, or set back: counted, said, and nothing is given up as too late by it.

Messages go on meanwhile: their unique keys keep any of them from being written twice. The heartbeat follows the clock
back, so that a dispatcher that dies is still noticed within three minutes. Source: DEVELOPERS.md, "Gaps and clocks".
"""

from __future__ import annotations

import datetime as dt
import logging
from dataclasses import dataclass

from django.db.models import Q

from followup.models import Count, Installation

logger = logging.getLogger(__name__)

STEP = dt.timedelta(seconds=60)
LONGEST_WAIT = dt.timedelta(hours=1)
"""So long at most nothing expires: after a clock that had been days ahead, people must still hear of what was not sent.

No source: ours.
"""
SEEN_FOR = dt.timedelta(minutes=5)
"""A tick says again that a clock is off; after so long without it the clock is right again."""
HOUR, MINUTE, NONE = dt.timedelta(hours=1), dt.timedelta(minutes=1), dt.timedelta(0)
JUMPED, SET_BACK = "clock_jumped", "clock_set_back"


@dataclass(frozen=True)
class ClockState:
    """What staff should know of it. `off_by`: how far a machine is off what the ticks go by, ahead if positive."""

    off_by: dt.timedelta = NONE
    expiry_waits_until: dt.datetime | None = None

    @property
    def words(self) -> str:
        """For a banner; empty: nothing is wrong."""
        if not self.off_by:
            return ""
        which_way = "ahead of" if self.off_by > NONE else "behind"
        return (
            f"A machine of this program is {_span(abs(self.off_by))} {which_way} the time that messages go by. "
            "Set its clock right, then start the program anew."
        )


def watch_the_clock(
    before: Installation, *, now: dt.datetime, off_by: dt.timedelta = NONE, moved_on: dt.timedelta = NONE
) -> None:
    """At the beginning of a tick: compare with the last one, and take down what the door has seen of the machine."""
    if before.last_tick_at is not None:
        last = before.last_tick_at - before.moved_on + moved_on
        if now < last - STEP:
            _set_back(now=now, had_reached=last)
    if abs(off_by) >= STEP:
        _off(before, off_by, now=now)


def expiry_waits(now: dt.datetime) -> bool:
    """Whether the clock was set back and has not caught up: nothing is given up as too late meanwhile."""
    return Installation.objects.filter(pk=1, expiry_waits_until__gt=now).exists()


def clock_state(now: dt.datetime) -> ClockState:
    """What a page says of the clocks. One query."""
    row = Installation.objects.filter(pk=1).first()
    if row is None:
        return ClockState()
    seen = row.clock_off_at is not None and abs(now - row.clock_off_at) <= SEEN_FOR
    waits = row.expiry_waits_until is not None and row.expiry_waits_until > now
    return ClockState(row.clock_off_by if seen else NONE, row.expiry_waits_until if waits else None)


def _set_back(*, now: dt.datetime, had_reached: dt.datetime) -> None:
    """Whoever writes it down first counts it; the next tick compares with a heartbeat that went back as well."""
    until = min(had_reached, now + LONGEST_WAIT)
    new = Installation.objects.filter(pk=1).filter(
        Q(expiry_waits_until=None) | Q(expiry_waits_until__lte=now) | Q(expiry_waits_until__lt=until - STEP)
    )
    if new.update(expiry_waits_until=until):
        Count.objects.one_more(SET_BACK, now)
        logger.warning("the clock was set back by %s; nothing expires until %s", had_reached - now, until)


def _off(before: Installation, off_by: dt.timedelta, *, now: dt.datetime) -> None:
    """Once for each step; as long as it lasts, every tick says again that it does."""
    seen = before.clock_off_at is not None and abs(now - before.clock_off_at) <= SEEN_FOR
    known = seen and abs(before.clock_off_by - off_by) < STEP
    row = Installation.objects.filter(pk=1, clock_off_at=before.clock_off_at)
    if row.update(clock_off_by=off_by, clock_off_at=now) and not known:
        Count.objects.one_more(JUMPED if off_by > NONE else SET_BACK, now)
        logger.warning("this machine is %s off the time that the ticks go by", off_by)


def _span(length: dt.timedelta) -> str:
    hours, minutes = length // HOUR, length % HOUR // MINUTE
    return f"{hours} h {minutes} min" if hours else f"{minutes} min"
