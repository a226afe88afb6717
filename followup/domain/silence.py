"""Silence: which check-ins stand unanswered, and when that is itself a sign. Source: clinical defaults, 5 (D).

An answer about eating, whoever gave it, ends the silence; doses, weights, photos and words alone do not.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from followup.domain.compiled import PlannedCheckIn
from followup.domain.recovery import Recovery
from followup.domain.terms import (
    GRAZERS,
    Certainty,
    CheckInKind,
    Concern,
    Heard,
    Level,
    Observer,
)
from followup.domain.verdict import Finding, HeardState

EARLY_ANSWER = dt.timedelta(hours=1)
"""An answer this long before a check-in answers it."""

A_CALL_SPARES = dt.timedelta(hours=6)
"""Staff's record of a call drops a check-in due within this time."""

DENSE = dt.timedelta(hours=72)
"""How long after surgery silence is judged strictly."""

DAY_ONE_URGENT = dt.time(10)
DAY_ONE_VET = dt.time(14)
DAY_ONE_FIRST = dt.time(18)
SEVERAL_RUNNING = 2
NOT_TRIAGED = frozenset({CheckInKind.OUTCOME, CheckInKind.EXTRA})
SOURCE = "clinical defaults, 5 (derived); the silent had about twice the odds of readmission (Sewell 2025)"

LastAnswerGood = Callable[[Recovery, dt.datetime], bool]
"""Whether the answers made by then raised nothing above monitor; given by triage, which alone can say."""


@dataclass(frozen=True)
class Silent:
    """One unanswered check-in, and how many in a row up to it have passed their `answer_by` at a moment."""

    check_in: PlannedCheckIn
    running: int


def unanswered(recovery: Recovery, now: dt.datetime) -> tuple[PlannedCheckIn, ...]:
    """The check-ins whose time has come and that nothing has answered, oldest first."""
    spoken = [(seen.at, seen.by) for seen in recovery.observations if seen.answers_a_check_in()]
    return tuple(
        each
        for each in recovery.check_ins
        if each.at <= now and each.kind not in NOT_TRIAGED and not _answered(each, spoken)
    )


def heard_state(recovery: Recovery, now: dt.datetime) -> HeardState:
    """Heard, waiting or not heard from, and since when."""
    silent = unanswered(recovery, now)
    if not silent:
        heard = [seen.at for seen in recovery.observations]
        return HeardState(Heard.HEARD, heard[-1] if heard else recovery.case.discharged_at)
    late = [each.answer_by for each in silent if each.answer_by <= now]
    if late:
        return HeardState(Heard.NOT_HEARD_FROM, min(late))
    return HeardState(Heard.WAITING, silent[0].at)


def unanswered_running(recovery: Recovery, now: dt.datetime) -> int:
    """How many check-ins in a row, up to the newest, have passed their time without an answer."""
    return sum(each.answer_by <= now for each in unanswered(recovery, now))


def silence_findings(recovery: Recovery, now: dt.datetime, last_answer_good: LastAnswerGood) -> Iterator[Finding]:
    """The worst that the silence gives now, if anything."""
    running = unanswered_running(recovery, now)
    found = [
        (level, each)
        for each in unanswered(recovery, now)
        if (level := _level(recovery, each, now, running, last_answer_good)) > Level.ON_TRACK
    ]
    if found:
        level, each = max(found, key=lambda one: one[0])
        yield Finding(
            rule="silence",
            concern=Concern.SILENCE,
            level=level,
            certainty=Certainty.CERTAIN,
            because=_because(recovery, each, now, running),
            source=SOURCE,
            time_alone=True,
            since=each.at,
        )


def silence_moments(recovery: Recovery, now: dt.datetime) -> Iterator[dt.datetime]:
    """Every moment at which silence may come to say more, if nothing is heard."""
    for each in recovery.check_ins:
        if each.kind not in NOT_TRIAGED and each.answer_by > now - DENSE:
            yield each.answer_by
            special = _special_moment(recovery, each)
            if special is not None:
                yield special


def _answered(each: PlannedCheckIn, spoken: list[tuple[dt.datetime, Observer]]) -> bool:
    return any(at >= each.at - (A_CALL_SPARES if by is Observer.STAFF else EARLY_ANSWER) for at, by in spoken)


def _special_moment(recovery: Recovery, each: PlannedCheckIn) -> dt.datetime | None:
    """When the first evening's or first morning's silence of a small herbivore becomes urgent."""
    if recovery.species not in GRAZERS:
        return None
    hours = recovery.case.hours
    if each.day == 0 and each.kind in {CheckInKind.EVENING, CheckInKind.BEDTIME}:
        return hours.next_sleep(each.at)
    if each.day == 1 and each.kind is CheckInKind.WAKING:
        local_day = hours.local(each.at).date()
        return max(hours.instant(local_day, DAY_ONE_URGENT), each.at)
    return None


def _level(recovery: Recovery, each: PlannedCheckIn, now: dt.datetime, running: int, good: LastAnswerGood) -> Level:
    special = _special_moment(recovery, each)
    if special is not None and now >= special:
        return Level.URGENT
    if now < each.answer_by:
        return Level.ON_TRACK
    early = recovery.case.since_surgery(each.at) < DENSE
    strict = special is None and early and not good(recovery, each.at)
    return Level.URGENT if strict or (special is None and running >= SEVERAL_RUNNING) else Level.MONITOR


def _because(recovery: Recovery, each: PlannedCheckIn, now: dt.datetime, running: int) -> str:
    asked = recovery.case.hours.local(each.at)
    how = "could not be asked" if each.at in recovery.unasked else "no answer"
    since = "first evening, no word" if each.day == 0 else f"{how} since {asked:%a %H:%M}"
    if recovery.species in GRAZERS and each.day == 1 and each.kind is CheckInKind.WAKING:
        clock = recovery.case.hours.local(now)
        later = clock.date() > asked.date()
        if later or clock.time() >= DAY_ONE_FIRST:
            return f"never heard from since surgery's first night: {since}"
        if clock.time() >= DAY_ONE_VET:
            return f"{since}; a vet decides"
    several = f", {running} check-ins running" if running > 1 else ""
    return f"{since}{several}"
