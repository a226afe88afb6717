"""What an owner is told at a level, and which number answers now: decided here, put into words by services/advice.py.

Source: clinical defaults, 1 (what each level means) and 13 (what may be promised when nobody is on call).
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import Enum

from followup.domain.hours import DAY, OwnerHours
from followup.domain.terms import GRAZERS, Level, Species

URGENT_WITHIN = dt.timedelta(hours=12)
"""An urgent case is spoken to no later than this. Source: clinical defaults, 1 (D)."""

URGENT_OPENING_TIME = dt.timedelta(hours=4)
"""... and within this much opening time. Source: clinical defaults, 1 (D)."""

GUT_AT_RISK = dt.timedelta(hours=72)
"""For so long after surgery a grazer's urgent case does not wait out the night. Source: clinical defaults, 1."""

TOO_LATE_TO_NAME = dt.timedelta(minutes=30)
"""A limit nearer than this is told as "now"."""


class Answering(Enum):
    """Who answers the telephone at this moment."""

    PRACTICE = "practice"
    PROVIDER = "provider"
    NOBODY_KNOWN = "nobody_known"


class Seen(Enum):
    """What happens here to what the owner told us."""

    AT_ONCE = "at_once"
    ON_CALL = "on_call"
    AT_OPENING = "at_opening"
    NOT_KNOWN = "not_known"


@dataclass(frozen=True)
class Line:
    """Who can be rung. Telephone numbers as they are dialled; empty: none known."""

    name: str
    phone: str
    second_phone: str = ""
    address: str = ""


@dataclass(frozen=True)
class Moment:
    """The clinic at `now`. `closes`: when it is open, until when; `opens`: the next opening after `now`."""

    now: dt.datetime
    practice: Line
    provider: Line | None
    closes: dt.datetime | None
    opens: dt.datetime | None
    on_call: bool

    @property
    def is_open(self) -> bool:
        """Whether somebody is at the practice."""
        return self.closes is not None


@dataclass(frozen=True)
class Call:
    """Whom to ring and by when. `by` None: at once. `waits`: when the practice has opened."""

    answering: Answering
    line: Line
    by: dt.datetime | None = None
    waits: bool = False


def whom_to_call(moment: Moment) -> Call:
    """Who answers at this moment: the practice when it is open, else the provider for this species."""
    if moment.is_open:
        return Call(Answering.PRACTICE, _with_second(moment.practice, moment.provider))
    if moment.provider is not None:
        return Call(Answering.PROVIDER, moment.provider)
    return Call(Answering.NOBODY_KNOWN, moment.practice)


def call_by(moment: Moment, hours: OwnerHours, *, species: Species, since_surgery: dt.timedelta) -> Call:
    """Whom an owner with an urgent case rings, and by when: the practice if it opens in time, else the provider."""
    limit = latest_for_urgent(moment.now, hours, species=species, since_surgery=since_surgery)
    if moment.closes is not None:
        by = min(limit, moment.now + URGENT_OPENING_TIME, moment.closes)
        return Call(Answering.PRACTICE, _with_second(moment.practice, moment.provider), _named(by, moment.now))
    if moment.opens is not None and moment.opens < limit:
        by = min(limit, moment.opens + URGENT_OPENING_TIME)
        return Call(Answering.PRACTICE, _with_second(moment.practice, moment.provider), by, waits=True)
    now = whom_to_call(moment)
    return Call(now.answering, now.line, _named(limit, moment.now))


def latest_for_urgent(
    now: dt.datetime, hours: OwnerHours, *, species: Species, since_surgery: dt.timedelta
) -> dt.datetime:
    """By when somebody has spoken to the owner: 12 hours; a grazer in its first 72 hours, before the next bedtime."""
    limit = while_awake(now + URGENT_WITHIN, now, hours)
    if species in GRAZERS and since_surgery < GUT_AT_RISK and hours.awake(now):
        return min(limit, hours.next_sleep(now))
    return limit


def while_awake(limit: dt.datetime, since: dt.datetime, hours: OwnerHours) -> dt.datetime:
    """The limit, or the bedtime before it where it falls into the owner's night: asleep, nobody is spoken to."""
    if hours.awake(limit):
        return limit
    bedtime = hours.sleeps_on(hours.waking_day(limit) - DAY)
    return bedtime if bedtime > since else limit


def who_sees_it(moment: Moment, level: Level, *, by_day: bool = False) -> Seen:
    """What becomes of the answer here. Never says that a vet was alerted when nobody is on call.

    `by_day`: an urgent case that no opening reaches in time, while the owner is awake, is for whoever is on call too.
    """
    if moment.is_open:
        return Seen.AT_ONCE
    if moment.on_call and (level is Level.EMERGENCY or (level is Level.URGENT and by_day)):
        return Seen.ON_CALL
    return Seen.AT_OPENING if moment.opens is not None else Seen.NOT_KNOWN


def worse_while_asleep(rises: dt.datetime | None, now: dt.datetime, hours: OwnerHours) -> dt.datetime | None:
    """When in the coming night time alone makes it worse; None: not before the next waking, or he sleeps already.

    Source: clinical defaults, 13: the last advice of the evening names the hour.
    """
    if rises is None or not hours.awake(now):
        return None
    return rises if hours.next_sleep(now) <= rises < hours.next_waking(now) else None


def _named(by: dt.datetime, now: dt.datetime) -> dt.datetime | None:
    return by if by - now >= TOO_LATE_TO_NAME else None


def _with_second(practice: Line, provider: Line | None) -> Line:
    """The practice, with the provider's number behind it: somebody must answer."""
    second = practice.second_phone or (provider.phone if provider is not None else "")
    return Line(practice.name, practice.phone, second, practice.address)
