"""Limits on the clocks: which are reached, for certain, possibly, or in full because an hour of asking brought nothing.

Source: clinical defaults, 2 and 6.6.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from followup.domain.bounds import HOUR, Holds
from followup.domain.clocks import Clock, clock_of, windows_of
from followup.domain.recovery import Recovery
from followup.domain.rules import ClockRule, Limits
from followup.domain.terms import Certainty, Level, Sign
from followup.domain.verdict import Finding

WITHOUT = {
    Sign.FOOD: "no food",
    Sign.MEAL: "no proper meal",
    Sign.FAECES: "no droppings",
    Sign.URINE: "no urine",
}


@dataclass(frozen=True)
class Reached:
    """What one limit gives at one moment."""

    level: Level
    certainty: Certainty
    in_full: bool = True


def counts_in_full_at(recovery: Recovery, clock: Clock, limit: dt.timedelta, since: dt.datetime) -> dt.datetime:
    """When a limit that stays possible counts in full: one question's time after it could first be asked about.

    `since`: the limit does not hold before.
    """
    hours, rule = recovery.case.hours, recovery.rules.steady.asked
    began = clock.run_began or clock.known.earliest
    asked = hours.next_awake(max(began, clock.known.earliest + limit, since))
    sleep = hours.next_sleep(asked)
    return sleep if sleep - asked < rule.too_late else asked + rule.for_waking


def reached(
    recovery: Recovery, clock: Clock, limit: tuple[Level, dt.timedelta], now: dt.datetime, since: dt.datetime
) -> Reached | None:
    """What the limit gives at `now`: its level for certain or in full, one less while only possible, or nothing."""
    level, span = limit
    holds = clock.reading(now).reaches(span)
    if holds is Holds.CERTAINLY:
        return Reached(level, Certainty.CERTAIN)
    if holds is Holds.NOT:
        return None
    if clock.runs and now >= counts_in_full_at(recovery, clock, span, since):
        return Reached(level, Certainty.POSSIBLE)
    return Reached(level.one_less(), Certainty.POSSIBLE, in_full=False)


def clock_findings(recovery: Recovery, now: dt.datetime, signs: frozenset[Sign] | None = None) -> Iterator[Finding]:
    """One finding for each sign whose hours reach a limit; `signs` None: all."""
    for rule in recovery.rules.clocks:
        if signs is None or rule.sign in signs:
            found = _worst(recovery, rule, now)
            if found is not None:
                yield found


def window_at(windows: Sequence[Limits], since_surgery: dt.timedelta) -> tuple[Limits, dt.timedelta] | None:
    """The window that holds at `since_surgery`, and when it began."""
    began = dt.timedelta(0)
    for window in windows:
        if window.until is None or since_surgery < window.until:
            return window, began
        began = window.until
    return None


def clock_moments(recovery: Recovery) -> Iterator[dt.datetime]:
    """Every moment at which a limit may come to hold, or to hold in full, if nothing more is heard."""
    start = recovery.case.surgery_ended_at
    for rule in recovery.rules.clocks:
        clock = clock_of(recovery, rule.sign)
        began = dt.timedelta(0)
        for window in windows_of(rule, recovery):
            yield start + began
            if clock.runs:
                for _, span in window.hours:
                    yield from _moments_of(recovery, clock, span, start + began)
            began = window.until or began


def _moments_of(recovery: Recovery, clock: Clock, span: dt.timedelta, since: dt.datetime) -> Iterator[dt.datetime]:
    yield clock.known.earliest + span
    yield counts_in_full_at(recovery, clock, span, since)
    certain = clock.certain_from(span)
    if certain is not None:
        yield certain


def _worst(recovery: Recovery, rule: ClockRule, now: dt.datetime) -> Finding | None:
    case = recovery.case
    placed = window_at(windows_of(rule, recovery), case.since_surgery(now))
    if placed is None:
        return None
    window, began = placed
    clock = clock_of(recovery, rule.sign)
    since = case.surgery_ended_at + began
    found = [
        (hit, limit)
        for limit in window.hours
        if (hit := reached(recovery, clock, limit, now, since)) is not None and hit.level > Level.ON_TRACK
    ]
    if not found:
        return None
    hit, limit = max(found, key=lambda each: (each[0].level, each[0].certainty is Certainty.CERTAIN))
    return Finding(
        rule=rule.code,
        concern=rule.concern,
        level=hit.level,
        certainty=hit.certainty,
        because=_because(rule.sign, clock, limit, now) + _asked(hit) + ". " + rule.because,
        source=rule.source.text,
        time_alone=clock.runs,
        since=clock.run_began,
    )


def hours_in_words(clock: Clock, now: dt.datetime) -> str:
    """The reading in words: "5.5 h", "4 to 14 h"."""
    low, high = (f"{hours:.1f}".removesuffix(".0") for hours in clock.reading(now).in_hours())
    return f"{low} h" if low == high else f"{low} to {high} h"


def _because(sign: Sign, clock: Clock, limit: tuple[Level, dt.timedelta], now: dt.datetime) -> str:
    level, span = limit
    return f"{WITHOUT[sign]} for {hours_in_words(clock, now)}; {span / HOUR:g} h or more is {level.word}"


def _asked(hit: Reached) -> str:
    if hit.certainty is Certainty.CERTAIN:
        return ""
    return " and counts in full, since asking did not settle it" if hit.in_full else ", and is possible"
