"""When we ask, and by when an answer is due. Source: clinical defaults, 5 and 7."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace

from followup.domain.bounds import HOUR
from followup.domain.case import Case
from followup.domain.course import AnswerWithin, AskOn
from followup.domain.hours import AFTER_WAKING, DAY, OwnerHours
from followup.domain.terms import CheckInKind

AFTER_DISCHARGE = 2 * HOUR
"""On the day of discharge nothing is asked sooner than this (D)."""

AT_LEAST_AFTER_DISCHARGE = dt.timedelta(minutes=30)
"""The one check-in of a late discharge comes no sooner than this (D)."""

ROOM_BEFORE_SLEEP = HOUR
"""A discharge that long before sleep, or longer, has a check-in that evening (D)."""

APART = 2 * HOUR
"""Two check-ins of one patient closer than this become one, the later (D)."""

DAYS_TRIED = 7


@dataclass(frozen=True)
class AskAt:
    """One moment at which we ask, and which entries of the course it stands for."""

    at: dt.datetime
    kind: CheckInKind
    day: int
    asks: tuple[AskOn, ...]


def check_in_times(case: Case, asks: Sequence[AskOn]) -> tuple[AskAt, ...]:
    """Every check-in of the course from discharge on, awake and there, at least two hours apart."""
    wanted = [_wanted(case, ask) for ask in asks]
    kept = [each for each in wanted if each.at >= case.discharged_at + AFTER_DISCHARGE]
    return _apart(sorted([*kept, *_first_evening(case, kept)], key=lambda each: each.at))


def answer_by(case: Case, at: dt.datetime, within: AnswerWithin) -> dt.datetime:
    """From when on silence after the check-in at `at` is itself a sign; asleep: the next waking."""
    early = case.since_surgery(at) < within.early_until
    return case.hours.next_awake(at + (within.early if early else within.later))


def _wanted(case: Case, ask: AskOn) -> AskAt:
    day = case.day_0 + ask.day * DAY
    at = _awake_and_there(case.hours, _moment(case.hours, day, ask.kind))
    return AskAt(at=at, kind=ask.kind, day=ask.day, asks=(ask,))


def _moment(hours: OwnerHours, day: dt.date, kind: CheckInKind) -> dt.datetime:
    if kind is CheckInKind.WAKING:
        return hours.waking_check_on(day)
    return hours.bedtime_on(day) if kind is CheckInKind.BEDTIME else hours.evening_on(day)


def _awake_and_there(hours: OwnerHours, moment: dt.datetime) -> dt.datetime:
    """`moment`, moved to the end of an absence; if asleep then, to the next waking check-in.

    Where no waking check-in of a week can be kept, since days are too short for it: to waking itself.
    """
    first = found = hours.next_there(moment)
    for _ in range(DAYS_TRIED):
        if found == moment or found != hours.wakes_on(hours.waking_day(found)):
            return found
        moment = found + AFTER_WAKING
        found = hours.next_there(moment)
    return first


def _first_evening(case: Case, kept: Sequence[AskAt]) -> list[AskAt]:
    """The one check-in of the evening of discharge, where the course leaves none."""
    hours, home = case.hours, case.discharged_at
    sleep = hours.next_sleep(home)
    if sleep - home < ROOM_BEFORE_SLEEP or any(each.at < sleep for each in kept):
        return []
    bedtime = hours.bedtime_on(hours.waking_day(home))
    at = max(min(home + AFTER_DISCHARGE, bedtime), home + AT_LEAST_AFTER_DISCHARGE)
    kind = CheckInKind.BEDTIME if at >= bedtime else CheckInKind.EVENING
    day = case.day(home)
    return [AskAt(_awake_and_there(hours, at), kind, day, (AskOn(day, kind),))]


def _apart(ordered: Sequence[AskAt]) -> tuple[AskAt, ...]:
    found: list[AskAt] = []
    for each in ordered:
        if found and each.at - found[-1].at < APART:
            found[-1] = replace(each, asks=(*found[-1].asks, *each.asks))
        else:
            found.append(each)
    return tuple(found)
