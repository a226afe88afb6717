"""The rota: who is on call when, how long a shift really lasts, and when nobody is.

A shift is written by the practice's wall clock and kept as instants: one from 20:00 to 08:00 in the night of a clock
change ends at 08:00 by the clock, and lasts 11 or 13 hours.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from followup.domain.hours import DAY
from followup.domain.spans import Span, common, span, without
from followup.domain.terms import FollowUpError

NIGHT = (dt.time(22), dt.time(7))
"""When people sleep, unless told otherwise. Source: clinical defaults, 7."""

LONGEST_SHIFT = 7 * DAY
"""A longer one is a mistyped date (ours)."""

MOST_WEEKS = 26
"""So often a shift may be repeated at once (ours)."""

HOUR = dt.timedelta(hours=1)


class NoSuchTime(FollowUpError):
    """A clock time that this day does not have, because the clocks go forward over it."""


@dataclass(frozen=True)
class Written:
    """A shift as it is written: dates and clock times where the practice is."""

    day: dt.date
    starts: dt.time
    last_day: dt.date
    ends: dt.time

    def weeks_later(self, weeks: int) -> Written:
        """The same, by the clock, so many weeks on."""
        return Written(self.day + 7 * weeks * DAY, self.starts, self.last_day + 7 * weeks * DAY, self.ends)

    def span(self, zone: ZoneInfo) -> Span:
        """The time it covers. A time that the clock shows twice is taken so that the shift is longer.

        Raises NoSuchTime, and FollowUpError for one that ends before it starts, or lasts longer than a week.
        """
        begins = instant(self.day, self.starts, zone, field="starts")
        over = instant(self.last_day, self.ends, zone, field="ends", last=True)
        found = span(begins, over)
        if found is None:
            raise FollowUpError("The shift ends before it starts. Was a date mistyped?", field="last_day")
        if found.length > LONGEST_SHIFT:
            raise FollowUpError("A shift lasts a week at most. Was a date mistyped?", field="last_day")
        return found


def instant(day: dt.date, at: dt.time, zone: ZoneInfo, *, field: str = "", last: bool = False) -> dt.datetime:
    """The instant of a clock time; `last`: the second one where the clock shows it twice. Raises NoSuchTime."""
    found = dt.datetime.combine(day, at.replace(fold=int(last)), zone).astimezone(dt.UTC)
    if found.astimezone(zone).replace(tzinfo=None, fold=0) != dt.datetime.combine(day, at):
        raise NoSuchTime(
            f"{at:%H:%M} does not exist on {day:%A} {day.day} {day:%B}: the clocks go forward over it. "
            "Choose a time before or after.",
            field=field,
        )
    return found


def change_within(found: Span, zone: ZoneInfo) -> dt.timedelta:
    """By how much the clock is put forward within the span (back: below nothing); nothing on any other day."""
    by_the_clock = found.ends.astimezone(zone).replace(tzinfo=None) - found.starts.astimezone(zone).replace(tzinfo=None)
    return by_the_clock - found.length


def holes(shifts: Sequence[Span], opening: Sequence[Span], window: Span) -> tuple[Span, ...]:
    """The spans of the window in which the practice is closed and nobody is on call."""
    return without((window,), [*shifts, *opening])


def has_night_cover(shifts: Sequence[Span], opening: Sequence[Span], window: Span, zone: ZoneInfo) -> bool:
    """Whether anybody is on call in any closed night of the window; with none, that is how the practice works."""
    closed = without(common(list(_nights(window, zone)), (window,)), opening)
    return not closed or bool(common(closed, shifts))


def by_day(found: Sequence[Span], day: dt.date, zone: ZoneInfo) -> tuple[Span, ...]:
    """What of these spans lies on one calendar day."""
    whole = span(dt.datetime.combine(day, dt.time(0), zone), dt.datetime.combine(day + DAY, dt.time(0), zone))
    return common(found, () if whole is None else (whole,))


def _nights(window: Span, zone: ZoneInfo) -> Iterator[Span]:
    day = window.starts.astimezone(zone).date() - DAY
    while day <= window.ends.astimezone(zone).date():
        begins, ends = dt.datetime.combine(day, NIGHT[0], zone), dt.datetime.combine(day + DAY, NIGHT[1], zone)
        found = span(begins, ends)
        if found is not None:
            yield found
        day += DAY
