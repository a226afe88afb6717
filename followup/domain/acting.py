"""When a finding is acted on, and what a flag gathers from a verdict. Pure: rows are written elsewhere.

Source: clinical defaults, 6.9 and 13 (D).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace

from followup.domain.hours import OwnerHours
from followup.domain.recovery import Recovery
from followup.domain.terms import Concern, Level
from followup.domain.triage import findings_at
from followup.domain.verdict import Finding, Verdict

AFTER_THE_WAKING_QUESTION = dt.timedelta(hours=1)
"""A rise in sleeping hours is acted on this long after waking: the waking question has then had half an hour."""


def acted_on_from(recovery: Recovery, verdict: Verdict) -> dt.datetime | None:
    """Until when urgent findings that came in the night by time alone wait; None: nothing waits now.

    An emergency never waits, and neither does silence.
    """
    hours, now = recovery.case.hours, verdict.at
    waking = _waking_of(hours, now)
    acted = waking + AFTER_THE_WAKING_QUESTION
    if not any(_may_wait(each) for each in verdict.findings) or not _in_the_night(now, acted):
        return None
    known = recovery.until(now)
    came_asleep = any(_may_wait(each) for each in findings_at(known, min(now, waking)))
    return acted if came_asleep else None


def to_act_on(findings: Sequence[Finding], *, waits: bool) -> dict[Concern, tuple[Finding, ...]]:
    """The findings of each concern that a flag gathers now, worst first; what waits counts as monitor meanwhile."""
    found: dict[Concern, list[Finding]] = {}
    held = [replace(each, level=Level.MONITOR) if waits and _may_wait(each) else each for each in findings]
    for each in sorted(held, key=lambda one: -one.level):
        found.setdefault(each.concern, []).append(each)
    return {concern: tuple(each) for concern, each in found.items()}


def is_news(findings: Sequence[Finding], *, covered_to: dt.datetime, level_then: Level) -> bool:
    """Whether these findings are more than what a person has already dealt with, up to `covered_to`."""
    worse = any(each.level > level_then for each in findings)
    return worse or any(each.since is not None and each.since > covered_to for each in findings)


def _may_wait(each: Finding) -> bool:
    return each.time_alone and each.level is Level.URGENT and each.concern is not Concern.SILENCE


def _waking_of(hours: OwnerHours, now: dt.datetime) -> dt.datetime:
    """The waking that ends, or has ended, the night nearest to `now`."""
    return hours.wakes_on(hours.waking_day(now))


def _in_the_night(now: dt.datetime, acted: dt.datetime) -> bool:
    return now < acted
