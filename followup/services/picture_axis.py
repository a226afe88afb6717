"""The days of a recovery across a picture: where a moment stands, and where each day of the owner's calendar begins."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass

from followup.domain.case import Case
from followup.domain.hours import DAY, MIDNIGHT

WIDTH, LEFT, RIGHT = 360, 8, 8
"""In units of the picture; on a telephone one is about one pixel, so a text of 12 is legible there."""

APART = 20
"""Numbers nearer than this would touch; then every second, third … day has one."""


@dataclass(frozen=True)
class DayTick:
    """Midnight where the owner lives, at `x`; the number of the day that begins there, empty when there is no room."""

    x: float
    label: str
    label_x: float


@dataclass(frozen=True)
class Axis:
    """A span of time across the width of a picture."""

    starts: dt.datetime
    ends: dt.datetime

    def x(self, moment: dt.datetime) -> float:
        """Where a moment stands, to a tenth; one outside the span at its edge."""
        share = (moment - self.starts) / (self.ends - self.starts)
        return round(LEFT + min(max(share, 0.0), 1.0) * (WIDTH - LEFT - RIGHT), 1)

    def holds(self, moment: dt.datetime) -> bool:
        """Whether a moment lies in the span."""
        return self.starts <= moment <= self.ends

    def days(self, case: Case) -> tuple[DayTick, ...]:
        """Every day that the span touches."""
        first, last = case.day(self.starts), case.day(self.ends)
        begins = [case.hours.instant(case.day_0 + number * DAY, MIDNIGHT) for number in range(first, last + 2)]
        wide = (WIDTH - LEFT - RIGHT) / max((self.ends - self.starts) / DAY, 1 / 24)
        every = max(1, math.ceil(APART / wide))
        return tuple(
            self._tick(number, begins[index], begins[index + 1], labelled=number % every == 0)
            for index, number in enumerate(range(first, last + 1))
        )

    def _tick(self, number: int, begins: dt.datetime, ends: dt.datetime, *, labelled: bool) -> DayTick:
        """A day of which only a sliver is in the picture has no number."""
        left, right = self.x(begins), self.x(ends)
        room = right - left >= min(APART / 2, (WIDTH - LEFT - RIGHT) * (DAY / 4 / (self.ends - self.starts)))
        return DayTick(left, f"{number}" if labelled and room else "", round((left + right) / 2, 1))
