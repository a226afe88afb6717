"""What may reach an owner in his sleeping hours. Source: clinical defaults, 13 (D)."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import Enum

from followup.domain.hours import OwnerHours
from followup.domain.terms import Level

ANSWER_TO_HIM = dt.timedelta(minutes=10)
ONE_AN_HOUR = dt.timedelta(hours=1)
LONG_AGO = dt.datetime.min.replace(tzinfo=dt.UTC)


class Kind(Enum):
    """What the rule asks about a message."""

    FIRST = "first message after enrolment"
    ADVICE = "advice"
    OTHER = "anything else"


@dataclass(frozen=True)
class Knock:
    """One message that would reach an owner now.

    `last_from_him`: his newest message · `last_of_flag`: when advice on the same flag last went out.
    """

    kind: Kind
    level: Level
    may_be_woken: bool
    last_from_him: dt.datetime | None = None
    last_of_flag: dt.datetime | None = None


def may_reach(knock: Knock, hours: OwnerHours, now: dt.datetime) -> bool:
    """Whether the message may go now. Awake: always."""
    if hours.awake(now) or knock.kind is Kind.FIRST:
        return True
    if knock.kind is not Kind.ADVICE:
        return False
    if knock.last_from_him is not None and now - knock.last_from_him <= ANSWER_TO_HIM:
        return True
    return _wakes(knock) and _rested_at(knock, hours) <= now


def next_chance(knock: Knock, hours: OwnerHours, now: dt.datetime) -> dt.datetime:
    """When a message that may not go now may go: on waking; an emergency after its hour, if that is sooner."""
    waking = hours.next_awake(now)
    return min(waking, max(_rested_at(knock, hours), now)) if _wakes(knock) else waking


def _wakes(knock: Knock) -> bool:
    return knock.kind is Kind.ADVICE and knock.level is Level.EMERGENCY and knock.may_be_woken


def _rested_at(knock: Knock, hours: OwnerHours) -> dt.datetime:
    """From when on he may be woken about this flag again. What reached him awake has woken nobody."""
    last = knock.last_of_flag
    return LONG_AGO if last is None or hours.awake(last) else last + ONE_AN_HOUR
