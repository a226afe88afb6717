"""The owner's wall clock: when he is awake, when he is there, and which instant a clock time is.

Think in wall clock, store instants: `instant` is the one place that converts. A time that a clock change skips is the
instant before the jump's offset would give; one that happens twice is the first. Source for both: PEP 495, fold=0.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from functools import lru_cache
from zoneinfo import ZoneInfo

from followup.domain.terms import FollowUpError

DAY = dt.timedelta(days=1)
MIDNIGHT = dt.time(0)

AFTER_WAKING = dt.timedelta(minutes=30)
"""The waking check-in comes this long after waking. Source: clinical defaults, 7 (D)."""

BEFORE_SLEEP = dt.timedelta(minutes=75)
"""The bedtime check-in comes this long before sleep. Source: clinical defaults, 7 (D)."""

EVENING = dt.time(18, 30)
"""The evening check-in, but never later than bedtime. Source: clinical defaults, 7 (D)."""

LONGEST_SEARCH = 21
"""Days to look ahead for a moment at which the owner is awake and there."""


class NeverThere(FollowUpError):
    """The hours leave no moment at which the owner is awake and with the animal."""


@lru_cache(maxsize=4096)
def _instant(zone: ZoneInfo, day: dt.date, at: dt.time) -> dt.datetime:
    """Triage asks for the same few wakings and bedtimes again and again."""
    return dt.datetime.combine(day, at, tzinfo=zone).astimezone(dt.UTC)


@dataclass(frozen=True)
class Away:
    """Awake, but not with the animal. `days` are Monday 0 to Sunday 6; `ends` before `starts` runs past midnight."""

    days: frozenset[int]
    starts: dt.time
    ends: dt.time


@dataclass(frozen=True)
class OwnerHours:
    """One owner's day. Awake is waking <= t < sleep; `sleeps` before `wakes` means after midnight."""

    zone: ZoneInfo
    wakes: dt.time = dt.time(7)
    sleeps: dt.time = dt.time(22)
    away: tuple[Away, ...] = ()

    def instant(self, day: dt.date, at: dt.time) -> dt.datetime:
        """The UTC instant of clock time `at` on `day` where the owner lives."""
        return _instant(self.zone, day, at)

    def local(self, moment: dt.datetime) -> dt.datetime:
        """`moment` on the owner's clock."""
        return moment.astimezone(self.zone)

    def wakes_on(self, day: dt.date) -> dt.datetime:
        """The instant at which the owner wakes on `day`."""
        return self.instant(day, self.wakes)

    def sleeps_on(self, day: dt.date) -> dt.datetime:
        """The instant at which the waking day that begins on `day` ends: after midnight for a night owl."""
        late = self.sleeps <= self.wakes
        return self.instant(day + DAY if late else day, self.sleeps)

    def waking_day(self, moment: dt.datetime) -> dt.date:
        """The date on which the waking day that `moment` lies in began; asleep, the one that begins next."""
        date = self.local(moment).date() - DAY
        while moment >= self.sleeps_on(date):
            date += DAY
        return date

    def awake(self, moment: dt.datetime) -> bool:
        """Whether the owner is awake at `moment`."""
        return self.wakes_on(self.waking_day(moment)) <= moment

    def there(self, moment: dt.datetime) -> bool:
        """Whether the owner is awake and with the animal."""
        return self.awake(moment) and self._away_until(moment) is None

    def next_awake(self, moment: dt.datetime) -> dt.datetime:
        """`moment` when awake, else the next waking."""
        return max(moment, self.wakes_on(self.waking_day(moment)))

    def next_there(self, moment: dt.datetime) -> dt.datetime:
        """The first moment from `moment` on at which the owner is awake and there. Raises NeverThere."""
        found = self.next_awake(moment)
        while (until := self._away_until(found)) is not None:
            found = self.next_awake(until)
            if found - moment > LONGEST_SEARCH * DAY:
                raise NeverThere("These hours leave no time at which somebody is with the animal.")
        return found

    def next_sleep(self, moment: dt.datetime) -> dt.datetime:
        """The first end of a waking day after `moment`."""
        return self.sleeps_on(self.waking_day(moment))

    def next_waking(self, moment: dt.datetime) -> dt.datetime:
        """The first waking after the night that follows `moment`, or that `moment` lies in."""
        day = self.waking_day(moment)
        return self.wakes_on(day) if moment < self.wakes_on(day) else self.wakes_on(day + DAY)

    def waking_check_on(self, day: dt.date) -> dt.datetime:
        """When the waking check-in of `day` is asked."""
        return self.wakes_on(day) + AFTER_WAKING

    def bedtime_on(self, day: dt.date) -> dt.datetime:
        """When the bedtime check-in of `day` is asked."""
        return self.sleeps_on(day) - BEFORE_SLEEP

    def evening_on(self, day: dt.date) -> dt.datetime:
        """When the evening check-in of `day` is asked."""
        return min(self.instant(day, EVENING), self.bedtime_on(day))

    def add_waking(self, moment: dt.datetime, span: dt.timedelta) -> dt.datetime:
        """The moment at which `span` of waking time has passed since `moment`."""
        begun = self.next_awake(moment)
        while begun + span > (end := self.next_sleep(begun)):
            span -= end - begun
            begun = self.next_awake(end)
        return begun + span

    def _away_until(self, moment: dt.datetime) -> dt.datetime | None:
        """When the absence that `moment` lies in ends; None when the owner is there."""
        today = self.local(moment).date()
        ends = [
            end
            for away in self.away
            for day in (today - DAY, today)
            if day.weekday() in away.days
            and self.instant(day, away.starts) <= moment < (end := self._end_of(away, day))
        ]
        return max(ends, default=None)

    def _end_of(self, away: Away, day: dt.date) -> dt.datetime:
        past_midnight = away.ends <= away.starts
        return self.instant(day + DAY if past_midnight else day, away.ends)
