"""When each dose of a medicine is asked for. Wall clock of the owner, instants out. Source:

clinical defaults, 8 (D).
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from itertools import islice, pairwise

from followup.domain.bounds import HOUR
from followup.domain.hours import DAY, OwnerHours
from followup.domain.terms import FollowUpError

EIGHT, TWELVE, TWENTY_FOUR = Decimal(8), Decimal(12), Decimal(24)
LONGEST_INTERVAL = 60 * TWENTY_FOUR
"""The longest course of the case format is 60 days."""

LAST_BEFORE_SLEEP = HOUR
"""The last of three doses a day comes this long before sleep (D)."""


class CannotBeKept(FollowUpError):
    """The owner's hours leave no way to give a medicine so often, doses well apart."""


@dataclass(frozen=True)
class Times:
    """One dose: asked at `at`, never before `not_before`, missed after `give_until`."""

    at: dt.datetime
    not_before: dt.datetime
    give_until: dt.datetime


@dataclass(frozen=True)
class FirstDose:
    """The first dose:

    asked for at `wanted` or the next moment when the owner is there, never before `not_before`.
    """

    wanted: dt.datetime
    not_before: dt.datetime


def refuse_too_rare(every_hours: Decimal) -> None:
    """Raises CannotBeKept for an interval that is longer than any course."""
    if every_hours > LONGEST_INTERVAL:
        raise CannotBeKept(f"A dose every {every_hours:f} hours cannot be planned: no course is so long.")


def how_many(days: int, every_hours: Decimal) -> int:
    """Doses in a course: days x 24 / interval, rounded up."""
    return math.ceil(Fraction(days) * 24 / Fraction(every_hours))


def least_spacing(every_hours: Decimal) -> dt.timedelta:
    """The shortest time between two doses: room for a clock change and for a moved dose."""
    if every_hours == EIGHT:
        return 6 * HOUR
    return (float(every_hours) - (1 if every_hours == TWELVE else 2)) * HOUR


def dose_times(hours: OwnerHours, first: FirstDose, every_hours: Decimal, count: int) -> tuple[Times, ...]:
    """The times of `count` doses.

    Raises CannotBeKept where the interval does not fit the owner's day.
    """
    moments = _moments(hours, first, every_hours)
    return _as_times([next(moments) for _ in range(count)], first.not_before, every_hours)


def dose_times_after(hours: OwnerHours, last: dt.datetime, every_hours: Decimal, count: int) -> tuple[Times, ...]:
    """The times of the next `count` doses after one that was given at `last`: they keep its clock time.

    Raises CannotBeKept. Source: clinical defaults, 8, "Late dose" (C).
    """
    least = least_spacing(every_hours)
    moments = _after(hours, last, every_hours)
    return _as_times([next(moments) for _ in range(count)], last + least, every_hours)


def _as_times(planned: Sequence[dt.datetime], not_before: dt.datetime, every_hours: Decimal) -> tuple[Times, ...]:
    """Each planned moment with what surrounds it. Raises CannotBeKept where two come too close."""
    least, half = least_spacing(every_hours), float(every_hours) * HOUR / 2
    for earlier, later in pairwise(planned):
        if later - earlier < least:
            raise CannotBeKept(
                f"A dose every {every_hours:f} hours does not fit the hours when somebody is awake "
                f"and there: two doses would be only {(later - earlier) / HOUR:.1f} hours apart."
            )
    return tuple(
        Times(
            at=at,
            not_before=not_before if index == 0 else planned[index - 1] + least,
            give_until=min([at + half, *(later - half for later in planned[index + 1 : index + 2])]),
        )
        for index, at in enumerate(planned)
    )


def _after(hours: OwnerHours, last: dt.datetime, every: Decimal) -> Iterator[dt.datetime]:
    """The moments that follow `last`, which itself may lie at any hour."""
    least = FirstDose(wanted=last + least_spacing(every), not_before=last)
    if every == TWELVE:
        keeps = hours.awake(last) and hours.awake(_half_a_day_on(hours, last))
        return (
            islice(_twice_from(hours, last), 1, None) if keeps else _twice_from(hours, _first_from_waking(hours, least))
        )
    if every % TWENTY_FOUR == 0:
        return islice(_same_clock(hours, last, int(every // TWENTY_FOUR)), 1, None)
    return _moments(hours, least, every)


def _moments(hours: OwnerHours, first: FirstDose, every: Decimal) -> Iterator[dt.datetime]:
    if every == EIGHT:
        return _three_a_day(hours, first)
    if every == TWELVE:
        return _twice_a_day(hours, first)
    if every % TWENTY_FOUR == 0:
        return _same_clock(hours, hours.next_there(first.wanted), int(every // TWENTY_FOUR))
    raise CannotBeKept(f"A dose every {every:f} hours cannot be planned: 8, 12, 24 hours or whole days can.")


def _same_clock(hours: OwnerHours, start: dt.datetime, days: int) -> Iterator[dt.datetime]:
    """Every `days` days at the clock time of the dose before;

    one that falls in away hours moves, and the rest with it.
    """
    at = start
    while True:
        yield at
        local = hours.local(at)
        at = hours.next_there(hours.instant(local.date() + days * DAY, local.time()))


def _twice_a_day(hours: OwnerHours, first: FirstDose) -> Iterator[dt.datetime]:
    """At the first dose's clock time and 12 h from it;

    where one of the two is asleep, from waking on.
    """
    start = hours.next_there(first.wanted)
    if not (hours.awake(start) and hours.awake(_half_a_day_on(hours, start))):
        start = _first_from_waking(hours, first)
    return _twice_from(hours, start)


def _twice_from(hours: OwnerHours, start: dt.datetime) -> Iterator[dt.datetime]:
    at = start
    while True:
        yield at
        at = hours.next_there(_half_a_day_on(hours, at))


def _first_from_waking(hours: OwnerHours, first: FirstDose) -> dt.datetime:
    """The first of waking and waking + 12 h that is not too early."""
    day = hours.local(first.wanted).date() - DAY
    while True:
        waking = hours.wakes_on(day)
        later = _half_a_day_on(hours, waking)
        if not hours.awake(later):
            raise CannotBeKept("A dose every 12 hours does not fit: the owner is awake for 12 hours or less a day.")
        for slot in (waking, later):
            if slot >= first.wanted:
                return hours.next_there(slot)
        day += DAY


def _three_a_day(hours: OwnerHours, first: FirstDose) -> Iterator[dt.datetime]:
    """Waking, the middle of the waking day, one hour before sleep."""
    day = hours.local(first.wanted).date() - DAY
    while True:
        wakes, sleeps = hours.wakes_on(day), hours.sleeps_on(day)
        for slot in (wakes, wakes + (sleeps - wakes) / 2, sleeps - LAST_BEFORE_SLEEP):
            if slot >= first.wanted:
                yield hours.next_there(slot)
        day += DAY


def _half_a_day_on(hours: OwnerHours, moment: dt.datetime) -> dt.datetime:
    """Twelve hours on by the wall clock."""
    local = hours.local(moment).replace(tzinfo=None, fold=0) + 12 * HOUR
    return hours.instant(local.date(), local.time())
