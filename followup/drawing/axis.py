"""The days of a recovery across a picture: where a moment stands, and where each day of the owner's calendar begins."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass

from followup.domain.case import Case
from followup.domain.hours import DAY, MIDNIGHT

WIDTH, LEFT, RIGHT = 360, 8, 352
"""In units of the picture; on a telephone one is about one pixel, so a text of 12 is legible there."""

APART = 20
"""Numbers nearer than this would touch; then every second, third … day has one."""

DAYS_IN_A_STRIP = 5
"""More days than this stand in strips below each other: doses every 8 hours are still 20 apart."""


@dataclass(frozen=True)
class DayTick:
    """Midnight where the owner lives, at `x`; the number of the day that begins there, empty when there is no room."""

    x: float
    label: str
    label_x: float


@dataclass(frozen=True)
class Axis:
    """A span of time across a picture, from `left` to `right`."""

    starts: dt.datetime
    ends: dt.datetime
    left: float = LEFT
    right: float = RIGHT

    def x(self, moment: dt.datetime) -> float:
        """Where a moment stands, to a tenth; one outside the span at its edge."""
        share = (moment - self.starts) / (self.ends - self.starts)
        return round(self.left + min(max(share, 0.0), 1.0) * (self.right - self.left), 1)

    def holds(self, moment: dt.datetime) -> bool:
        """Whether a moment lies in the span; its end is the next one's."""
        return self.starts <= moment < self.ends

    def part(self, starts: dt.datetime, ends: dt.datetime) -> tuple[float, float] | None:
        """The left edge and the width of what lies in the span, at least 1 wide; None: nothing does."""
        if ends <= self.starts or starts >= self.ends:
            return None
        x = self.x(starts)
        return x, round(max(self.x(ends) - x, 1.0), 1)

    def days(self, case: Case) -> tuple[DayTick, ...]:
        """Every day that the span touches."""
        first, last = case.day(self.starts), case.day(self.ends)
        begins = [_midnight(case, number) for number in range(first, last + 2)]
        every = max(1, math.ceil(APART / self._a_day()))
        return tuple(
            self._tick(number, begins[index], begins[index + 1], labelled=number % every == 0)
            for index, number in enumerate(range(first, last + 1))
            if begins[index] < self.ends
        )

    def _tick(self, number: int, begins: dt.datetime, ends: dt.datetime, *, labelled: bool) -> DayTick:
        """A day of which only a sliver is in the picture has no number."""
        left, right = self.x(begins), self.x(ends)
        room = right - left >= min(APART / 2, self._a_day() / 4)
        return DayTick(left, f"{number}" if labelled and room else "", round((left + right) / 2, 1))

    def _a_day(self) -> float:
        return (self.right - self.left) / max((self.ends - self.starts) / DAY, 1 / 24)


def strips(case: Case, starts: dt.datetime, ends: dt.datetime) -> tuple[Axis, ...]:
    """The span as one axis; a long one as several of equally many whole days of the owner's calendar."""
    if ends - starts <= DAYS_IN_A_STRIP * DAY:
        return (Axis(starts, ends),)
    first, last = case.day(starts), case.day(ends - dt.timedelta.resolution)
    days = last - first + 1
    each = math.ceil(days / math.ceil(days / DAYS_IN_A_STRIP))
    return tuple(Axis(_midnight(case, day), _midnight(case, day + each)) for day in range(first, last + 1, each))


def _midnight(case: Case, day: int) -> dt.datetime:
    return case.hours.instant(case.day_0 + day * DAY, MIDNIGHT)
