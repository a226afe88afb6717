"""When something last happened, as an owner can tell it: buttons that become two bounds, or a time for those who know.

"This morning" is no moment: it is kept as not before … not after, and triage takes the earlier.
"""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass

from followup.domain.hours import DAY, OwnerHours
from followup.domain.observation import Told
from followup.domain.question_words import gettext_noop

DID_NOT_SEE = "did_not_see"
LONGER_AGO = "longer_ago"
RECENT = dt.timedelta(hours=2)
NOON, EVENING = dt.time(12), dt.time(18)
CLOCK = re.compile(r"^([01]?\d|2[0-3])[:.]([0-5]\d)$")
_ = gettext_noop


@dataclass(frozen=True)
class When:
    """One button: its value, its words, and the bounds that it stands for. None: not known."""

    value: str
    words: str
    told: Told | None


def buttons(now: dt.datetime, hours: OwnerHours, *, since: dt.datetime) -> tuple[When, ...]:
    """The buttons that make sense at `now`. `since` is the end of surgery: nothing earlier is counted."""
    spans = [each for each in _spans(now, hours) if each[3] > since and each[3] > each[2]]
    found = [When(value, words, Told(max(starts, since), ends)) for value, words, starts, ends in spans]
    first = min((each.told.earliest for each in found if each.told is not None), default=now)
    return (
        *found,
        When(LONGER_AGO, _("Longer ago"), Told(since, max(first, since))),
        When(DID_NOT_SEE, _("I did not see it"), None),
    )


def told_by(value: str, now: dt.datetime, hours: OwnerHours, *, since: dt.datetime) -> When | None:
    """What a button's value, or a clock time ("14:30", the last one before `now`), stands for. None: neither."""
    clock = CLOCK.match(value.strip())
    if clock is not None:
        moment = _last_time(now, hours, dt.time(int(clock[1]), int(clock[2])))
        return When(value, value, Told.exactly(moment))
    return next((each for each in buttons(now, hours, since=since) if each.value == value), None)


def _spans(now: dt.datetime, hours: OwnerHours) -> list[tuple[str, str, dt.datetime, dt.datetime]]:
    today = hours.local(now).date()
    yesterday = today - DAY
    recent = now - RECENT
    dawn, noon, evening = hours.wakes_on(today), hours.instant(today, NOON), hours.instant(today, EVENING)
    return [
        ("under_2_hours", _("Less than 2 hours ago"), recent, now),
        ("this_evening", _("This evening, before that"), evening, recent),
        ("this_afternoon", _("This afternoon"), noon, min(evening, recent)),
        ("this_morning", _("This morning"), dawn, min(noon, recent)),
        ("last_night", _("In the night"), hours.sleeps_on(yesterday), min(dawn, recent)),
        ("yesterday_evening", _("Yesterday evening"), hours.instant(yesterday, EVENING), hours.sleeps_on(yesterday)),
    ]


def _last_time(now: dt.datetime, hours: OwnerHours, at: dt.time) -> dt.datetime:
    today = hours.local(now).date()
    moment = hours.instant(today, at)
    return moment if moment <= now else hours.instant(today - DAY, at)
