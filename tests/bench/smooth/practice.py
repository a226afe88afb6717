"""What the simulation assumes of the practice: when a person deals with a flag, and whether he reaches the owner."""

from __future__ import annotations

import datetime as dt
import random
from zoneinfo import ZoneInfo

from followup.domain.bounds import HOUR
from followup.domain.terms import Level
from tests.bench.smooth.flag_life import Alert

OPENS, CLOSES, CLOSES_ON_SATURDAY = dt.time(8), dt.time(18, 30), dt.time(12)
SATURDAY, SUNDAY = 5, 6
RINGS_WITHIN = (0.25, 4)
"""Hours of opening after which a person rings about an urgent flag. Source: clinical defaults, 1: within 4 h (D)."""
EMERGENCY_WITHIN = (0.05, 0.5)
"""The same of an emergency, at any hour. Source: clinical defaults, 1: an outcome within 30 min (D)."""
REACHED = 0.85
"""Share of calls that reach the owner (D)."""
AGAIN = 4 * HOUR
"""After a call that did not, the next."""


def rings_at(alert: Alert, zone: ZoneInfo, rng: random.Random) -> dt.datetime:
    """When a person rings about the alert."""
    if alert.level is Level.EMERGENCY:
        return alert.at + rng.uniform(*EMERGENCY_WITHIN) * HOUR
    return _opening(_opening(alert.at, zone) + rng.uniform(*RINGS_WITHIN) * HOUR, zone)


def reaches_the_owner(rng: random.Random) -> bool:
    """Whether he picks up."""
    return rng.random() < REACHED


def _opening(moment: dt.datetime, zone: ZoneInfo) -> dt.datetime:
    """`moment` when the practice is open, else when it opens next."""
    local = moment.astimezone(zone)
    day = local.date()
    while True:
        opens = dt.datetime.combine(day, OPENS, zone)
        closes = dt.datetime.combine(day, CLOSES_ON_SATURDAY if day.weekday() == SATURDAY else CLOSES, zone)
        if day.weekday() != SUNDAY and local < closes:
            return max(local, opens).astimezone(dt.UTC)
        day += dt.timedelta(days=1)
