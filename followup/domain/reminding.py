"""When an unanswered check-in is asked about again. Source: clinical defaults, 5 (D)."""

from __future__ import annotations

import datetime as dt

from followup.domain.hours import OwnerHours
from followup.domain.terms import CheckInKind

FIRST_EVENING = (dt.timedelta(minutes=30), dt.timedelta(minutes=45))
"""After the first evening's check-ins of a small herbivore: second channel, then the second carer."""
LATER = (dt.timedelta(hours=2),)
BEFORE_SLEEP = dt.timedelta(minutes=30)


def reminders(at: dt.datetime, answer_by: dt.datetime, hours: OwnerHours, *, dense: bool) -> tuple[dt.datetime, ...]:
    """When to remind, in order. `dense`: the first evening of a small herbivore.

    One that would fall asleep goes 30 minutes before sleep if that is at least 30 minutes after the check-in, else at
    waking; never once `answer_by` has come.
    """
    moved = [_awake(at, at + wait, hours) for wait in (FIRST_EVENING if dense else LATER)]
    return tuple(dict.fromkeys(moment for moment in moved if moment < answer_by))


def is_dense(day: int, kind: CheckInKind, *, grazer: bool) -> bool:
    """Whether a check-in is one of the first evening, when silence is asked about at once."""
    return grazer and day == 0 and kind in {CheckInKind.EVENING, CheckInKind.BEDTIME}


def _awake(asked: dt.datetime, moment: dt.datetime, hours: OwnerHours) -> dt.datetime:
    if hours.awake(moment):
        return moment
    before = hours.next_sleep(asked) - BEFORE_SLEEP
    return before if before - asked >= BEFORE_SLEEP else hours.next_waking(asked)
