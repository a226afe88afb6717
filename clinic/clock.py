"""The one clock. Doors ask it once and pass `now` on; nothing else asks for the time."""

from __future__ import annotations

import datetime as dt

from django.conf import settings
from django.db import connection

from clinic.models import ClockOffset
from clinic.steady import STEP, machine

NONE = dt.timedelta(0)


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
