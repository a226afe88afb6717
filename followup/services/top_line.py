"""What stands above the morning list: whether sending and receiving work, and what the night brought."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from clinic.models import Practice
from followup.domain.terms import Level
from followup.models import Flag, Heartbeat

LATE = dt.timedelta(minutes=3)
"""A tick comes every 15 seconds; after three minutes without one a person is told."""
A_FORTNIGHT = 14


@dataclass(frozen=True)
class TopLine:
    """When things last worked, None: never. `night`: how many flags each level gathered since the last closing.

    `stopped`: the program has not looked for three minutes.
    """

    tick: dt.datetime | None
    sent: dt.datetime | None
    reply: dt.datetime | None
    closed_at: dt.datetime
    night: tuple[tuple[str, int], ...]
    stopped: bool


def top_line(practice: Practice, *, now: dt.datetime) -> TopLine:
    """Two queries, and two for the practice's hours."""
    beats = dict(Heartbeat.objects.filter(name__in=["tick", "sent", "reply"]).values_list("name", "at"))
    closed_at = last_closing(practice, now)
    opened = list(Flag.objects.of(practice).filter(raised_at__gte=closed_at).values_list("worst", flat=True))
    counted = ((level, opened.count(level.value)) for level in reversed(Level) if level > Level.ON_TRACK)
    tick = beats.get("tick")
    return TopLine(
        tick=tick,
        sent=beats.get("sent"),
        reply=beats.get("reply"),
        closed_at=closed_at,
        night=tuple((level.word, many) for level, many in counted if many),
        stopped=tick is None or now - tick > LATE,
    )


def last_closing(practice: Practice, now: dt.datetime) -> dt.datetime:
    """When the practice closed last before `now`; a day ago when it did not within two weeks."""
    today = now.astimezone(practice.zone).date()
    for back in range(A_FORTNIGHT):
        hours = practice.opening(today - dt.timedelta(days=back))
        if hours is not None and hours[1] <= now:
            return hours[1]
    return now - dt.timedelta(days=1)
