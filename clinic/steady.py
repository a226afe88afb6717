"""A clock that nobody can set: what the one clock (clock.py) and the timetable of the ticks go by.

A process keeps the time that it began with, however its machine's clock is set meanwhile: 14 days of doses and silences
hang on it. What a time service corrects, less than a minute at once, is followed; more is reported and not followed.
"""

from __future__ import annotations

import datetime as dt
import time
from collections.abc import Callable
from dataclasses import dataclass

NONE = dt.timedelta(0)
STEP = dt.timedelta(seconds=60)
"""From here on a deviation is a clock that was set, and no correction. No source: ours."""
SINCE_BOOT = getattr(time, "CLOCK_BOOTTIME", time.CLOCK_MONOTONIC)
"""A clock that nobody can set.

Linux's CLOCK_BOOTTIME also counts while the machine sleeps (clock_gettime(2)), CLOCK_MONOTONIC on macOS (from memory).
"""


def _wall() -> dt.datetime:
    return dt.datetime.now(dt.UTC)


def _elapsed() -> dt.timedelta:
    return dt.timedelta(seconds=time.clock_gettime(SINCE_BOOT))


@dataclass(frozen=True)
class Reading:
    """One look at both clocks. `steady`: what the time is. `step`: how far the machine's is ahead of that."""

    steady: dt.datetime
    step: dt.timedelta


class SteadyClock:
    """The machine's clock as it was at the start, carried on by one that nobody can set."""

    def __init__(self, wall: Callable[[], dt.datetime] = _wall, elapsed: Callable[[], dt.timedelta] = _elapsed) -> None:
        """`wall` may be set by somebody; `elapsed` only ever grows."""
        self._wall, self._elapsed = wall, elapsed
        self._anchor = (wall(), elapsed())

    def read(self) -> Reading:
        """Both clocks now. A small deviation becomes the time; threads may read at once, since the pair is replaced."""
        wall, elapsed = self._wall(), self._elapsed()
        began, at = self._anchor
        steady = began + (elapsed - at)
        if abs(wall - steady) >= STEP:
            return Reading(steady, wall - steady)
        self._anchor = (wall, elapsed)
        return Reading(wall, NONE)


machine = SteadyClock()
"""This process's. Forked children share their parent's beginning."""


def steady() -> dt.datetime:
    """This moment, in UTC, by this process's clock."""
    return machine.read().steady
