"""A dose is late, or was not taken: give it now or skip it, and when the next one is then. Never double.

Source: clinical defaults, 8, "Late dose" (C): give when remembered if at least half the interval remains before the
next; that and all later ones then keep the new clock time, the number of doses stays; otherwise skip.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from enum import Enum

from followup.domain.compiled import Medicine, PlannedDose
from followup.domain.dose_times import CannotBeKept, Times, dose_times_after
from followup.domain.hours import OwnerHours
from followup.domain.terms import DoseOutcome

ON_TIME = dt.timedelta(minutes=30)
"""A dose given this near to its time moves no other (D); the spacing holds with room to spare."""

UNTOUCHED = frozenset({DoseOutcome.MISSED, DoseOutcome.REFUSED})
"""Nothing of it went in, so it can still be given. What was spat out or vomited may be half taken: never again (C)."""


class Give(Enum):
    """What to do with one dose at one moment."""

    NOT_YET = "not_yet"
    NOW = "now"
    SKIP = "skip"


@dataclass(frozen=True)
class WhatNow:
    """`give`, and until when; `next_at` is the following dose that can still be given. None: there is none."""

    give: Give
    not_before: dt.datetime
    until: dt.datetime
    next_at: dt.datetime | None


def what_now(medicine: Medicine, number: int, hours: OwnerHours, now: dt.datetime) -> WhatNow:
    """What to do at `now` with a dose of which nothing was taken. Raises KeyError for a number that is not planned."""
    dose = dose_of(medicine, number)
    give, then = _give(dose, now), medicine
    if give is Give.NOW:
        try:
            then = moved_by(medicine, number, now, hours)
        except CannotBeKept:  # the later doses would come too close
            give = Give.SKIP
    later = [each.at for each in then.doses if each.number > number and each.give_until >= now]
    return WhatNow(give, dose.not_before, dose.give_until, min(later, default=None))


def moved_by(medicine: Medicine, number: int, given_at: dt.datetime, hours: OwnerHours) -> Medicine:
    """The medicine with the later doses at the clock time of one that was given late.

    Unchanged where it was given about in time, or where nothing follows. Raises CannotBeKept.
    """
    dose = dose_of(medicine, number)
    later = [each for each in medicine.doses if each.number > number]
    if given_at - dose.at <= ON_TIME or not later or medicine.every_hours is None:
        return medicine
    times = dose_times_after(hours, given_at, medicine.every_hours, len(later))
    moved = {each.number: _at(each, when) for each, when in zip(later, times, strict=True)}
    return replace(medicine, doses=tuple(moved.get(each.number, each) for each in medicine.doses))


def dose_of(medicine: Medicine, number: int) -> PlannedDose:
    """One planned dose by its number. Raises KeyError."""
    return {each.number: each for each in medicine.doses}[number]


def _give(dose: PlannedDose, now: dt.datetime) -> Give:
    if now < dose.not_before:
        return Give.NOT_YET
    return Give.NOW if now <= dose.give_until else Give.SKIP


def _at(dose: PlannedDose, times: Times) -> PlannedDose:
    return replace(dose, at=times.at, not_before=times.not_before, give_until=times.give_until)
