"""What is decided before the owner sleeps: a running food clock is not left to run out while everybody is asleep.

Source: clinical defaults, 6.9 (D). How many nights, and the other figures, stand in the protocols.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from followup.domain.answer_rules import any_stands
from followup.domain.answers import STRONG_PAIN_SIGNS
from followup.domain.clock_rules import hours_in_words
from followup.domain.clocks import Clock, clock_of, kind_of, windows_of
from followup.domain.hours import DAY
from followup.domain.parts import UNWELL
from followup.domain.recovery import Recovery
from followup.domain.steady_rules import BeforeSleep
from followup.domain.terms import Certainty, Concern, Level, Sign
from followup.domain.verdict import Finding

BEFORE_BEDTIME = dt.timedelta(hours=1)
"""From so long before bedtime on, an answer is that of bedtime."""


@dataclass(frozen=True)
class Night:
    """One night of the owner's: decided at `decided`, asleep from `sleeps` to `wakes`."""

    decided: dt.datetime
    sleeps: dt.datetime
    wakes: dt.datetime


def nights(recovery: Recovery) -> tuple[Night, ...]:
    """The nights before which a running food clock is decided; they do not change with `now`."""
    kept = recovery.worked_out.get(nights)
    if isinstance(kept, tuple):
        return kept
    found = _nights(recovery)
    recovery.worked_out[nights] = found
    return found


def _nights(recovery: Recovery) -> tuple[Night, ...]:
    first = recovery.case.day_0
    return tuple(_night(recovery, first + number * DAY) for number in range(_rule(recovery).nights))


def night_findings(recovery: Recovery, now: dt.datetime) -> Iterator[Finding]:
    """Urgent or emergency, when a night's decision stands against a running food clock."""
    clock = clock_of(recovery, Sign.FOOD)
    limit = emergency_limit(recovery)
    if limit is None:
        return
    found = [
        (level, night)
        for night in nights(recovery)
        if (level := _decided(recovery, clock, limit, night, now)) > Level.ON_TRACK
    ]
    if found:
        level, _ = max(found, key=lambda each: each[0])
        yield Finding(
            rule="decided_before_sleep",
            concern=Concern.EATING,
            level=level,
            certainty=Certainty.CERTAIN if clock.told or clock.nothing_known else Certainty.POSSIBLE,
            because=_because(clock, limit, now, level),
            source=_rule(recovery).source.text,
            time_alone=True,
            since=clock.run_began,
        )


def night_moments(recovery: Recovery) -> Iterator[dt.datetime]:
    """Every moment at which a night's decision may come to hold."""
    for night in nights(recovery):
        yield night.decided
        yield night.sleeps - _rule(recovery).unanswered
        yield night.sleeps
        yield night.wakes + _rule(recovery).word_after_waking


def food_judged_at(recovery: Recovery, now: dt.datetime) -> dt.datetime:
    """The moment at which the food clock is judged: under a night plan or a vet's word it may pass its limit asleep.

    From 30 minutes after waking, or once somebody answered about food, it is judged at `now` again.
    """
    for night in nights(recovery):
        end = night.wakes + _rule(recovery).word_after_waking
        if night.sleeps <= now < end and _covered(recovery, clock_of(recovery, Sign.FOOD), night):
            return now if _spoken_since(recovery, night.sleeps) else night.sleeps
    return now


def _rule(recovery: Recovery) -> BeforeSleep:
    return recovery.rules.steady.before_sleep


def _night(recovery: Recovery, day: dt.date) -> Night:
    hours = recovery.case.hours
    sleeps = hours.sleeps_on(day)
    opens = hours.bedtime_on(day) - BEFORE_BEDTIME
    answers = [seen.at for seen in recovery.observations if opens <= seen.at < sleeps and seen.answers_a_check_in()]
    decided = min([*answers, sleeps - _rule(recovery).unanswered])
    return Night(decided, sleeps, hours.wakes_on(day + DAY))


def emergency_limit(recovery: Recovery) -> dt.timedelta | None:
    """Hours without food that are an emergency in this patient; None: no rule says so."""
    return next(
        (
            hours
            for rule in recovery.rules.clocks
            if rule.sign is Sign.FOOD
            for level, hours in windows_of(rule, recovery)[0].hours
            if level is Level.EMERGENCY
        ),
        None,
    )


def _decided(recovery: Recovery, clock: Clock, limit: dt.timedelta, night: Night, now: dt.datetime) -> Level:
    """What the night's decision gives at `now`; it stands as long as the run that it was made in."""
    rule = _rule(recovery)
    if not _concerns(rule, clock, limit, night, now):
        return Level.ON_TRACK
    asleep_or_later = now >= night.sleeps
    uncovered = asleep_or_later and not _covered(recovery, clock, night)
    if _unwell(recovery, clock) or uncovered or _unheard_after(recovery, clock, limit, night, now):
        return rule.with_signs
    return rule.level


def _concerns(rule: BeforeSleep, clock: Clock, limit: dt.timedelta, night: Night, now: dt.datetime) -> bool:
    """Whether the clock runs into this night, and would reach its limit before the morning."""
    began = clock.run_began
    if not clock.runs or began is None or began >= night.sleeps:
        return False
    return now >= max(night.decided, began) and clock.known.earliest + limit < night.wakes + rule.until_after_waking


def _unheard_after(recovery: Recovery, clock: Clock, limit: dt.timedelta, night: Night, now: dt.datetime) -> bool:
    """Whether the limit was passed asleep and nobody has answered about food since, 30 minutes after waking."""
    if now < night.wakes + _rule(recovery).word_after_waking or clock.known.earliest + limit > night.wakes:
        return False
    return not _spoken_since(recovery, night.sleeps)


def _spoken_since(recovery: Recovery, moment: dt.datetime) -> bool:
    return any(kind_of(seen, Sign.FOOD) is not None and seen.at >= moment for seen in recovery.observations)


def _covered(recovery: Recovery, clock: Clock, night: Night) -> bool:
    """Whether the vet wrote a night plan, or a vet has spoken to the owner within this run and before sleep."""
    if recovery.case.discharge.night_plan:
        return True
    began = clock.run_began or recovery.case.discharged_at
    return any(began <= said.at <= night.sleeps for said in recovery.case.vet_said)


def _unwell(recovery: Recovery, clock: Clock) -> bool:
    looked = recovery.pain_signs()
    droppings = clock_of(recovery, Sign.FAECES)
    return (
        any_stands(recovery, UNWELL)
        or bool(looked is not None and looked[0] & STRONG_PAIN_SIGNS)
        or (droppings.nothing_known and droppings.first_none is not None)
        or clock.nothing_known
    )


def _because(clock: Clock, limit: dt.timedelta, now: dt.datetime, level: Level) -> str:
    words = hours_in_words(clock, now)
    hours = limit.total_seconds() / 3600
    what = "phone before going to bed" if level is Level.URGENT else "a vet now, before the night"
    return f"no food for {words}; {hours:g} h would be reached before the morning, so it is decided now: {what}"
