"""The one clock. Doors ask it once and pass `now` on; nothing else reads the time.

A process keeps the time that it began with, however its machine's clock is set meanwhile: 14 days of doses and silences
hang on it. What a time service corrects, less than a minute at once, is followed; more is reported and not followed.
"""

from __future__ import annotations

import datetime as dt
import time
from collections.abc import Callable
from dataclasses import dataclass

from django.conf import settings
from django.db import connection

from clinic.models import ClockOffset

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


def now() -> dt.datetime:
    """This moment, in UTC. In the demo and in tests, moved on by the stored offset."""
    return machine.read().steady + moved_on()


def for_the_tick() -> dt.datetime:
    """This moment as the tick goes by it: on PostgreSQL the database's clock where ours is a minute or more off it.

    Several machines then agree about what is due, whatever their own clocks say.
    """
    ours = machine.read().steady
    return _the_one_to_trust(ours, _of_the_database()) + moved_on()


def off_by() -> dt.timedelta:
    """How far this machine is off what the tick goes by, ahead if positive; nothing below a minute.

    The larger of two: its clock, which may have been set, and this process, which keeps the time that it began with.
    """
    reading = machine.read()
    trusted = _the_one_to_trust(reading.steady, _of_the_database())
    found = max(reading.steady + reading.step - trusted, reading.steady - trusted, key=abs)
    return found if abs(found) >= STEP else NONE


def moved_on() -> dt.timedelta:
    """How far the demo's or a test's clock was moved on by hand; nothing in a practice."""
    if not (settings.DEMO or settings.TESTING):
        return NONE
    return ClockOffset.objects.values_list("offset", flat=True).first() or NONE


def _the_one_to_trust(ours: dt.datetime, theirs: dt.datetime | None) -> dt.datetime:
    return theirs if theirs is not None and abs(theirs - ours) >= STEP else ours


def _of_the_database() -> dt.datetime | None:
    """The database's own clock; None for SQLite, which has none but the machine's."""
    if connection.vendor != "postgresql":
        return None
    with connection.cursor() as cursor:
        cursor.execute("SELECT statement_timestamp()")
        found: dt.datetime = cursor.fetchone()[0]
    return found
