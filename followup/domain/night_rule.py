"""What may reach an owner in his sleeping hours. Source: clinical defaults, 13 (D)."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import Enum

from followup.domain.hours import OwnerHours
from followup.domain.terms import Level

ANSWER_TO_HIM = dt.timedelta(minutes=10)
ONE_AN_HOUR = dt.timedelta(hours=1)


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
    rested = knock.last_of_flag is None or now - knock.last_of_flag >= ONE_AN_HOUR
    return knock.level is Level.EMERGENCY and knock.may_be_woken and rested
