"""An urgent case or an emergency, and whom a tick then writes to."""

from __future__ import annotations

import datetime as dt

from followup.domain.terms import Level
from followup.models import Flag, Message, Plan
from followup.services.call_people import call_people
from followup.services.escalate import escalate
from tests.services.post import read_by

EMAIL, SMS, CHAT = Message.Medium.EMAIL, Message.Medium.SMS, Message.Medium.CHAT


def called(plan: Plan, now: dt.datetime, *, level: Level = Level.URGENT, concern: str = "wound") -> Flag:
    """A flag that was opened at `now` and has begun to call people."""
    flag = plan.flags.create(
        practice=plan.practice,
        concern=concern,
        level=level,
        worst=level,
        because="the wound is red",
        opened_at=now,
        raised_at=now,
        updated_at=now,
    )
    call_people(flag, now=now)
    return flag


def told(now: dt.datetime) -> list[tuple[str, str]]:
    """Whom escalating at `now` writes to, staff and owners alike, and by what."""
    before = set(Message.objects.values_list("pk", flat=True))
    escalate(now=now)
    new = Message.objects.exclude(pk__in=before).order_by("pk")
    return [((each.staff or read_by(each)).name.split()[0], each.medium) for each in new]


def both(*names: str) -> list[tuple[str, str]]:
    """E-mail and a text to each."""
    return [(name, medium) for name in names for medium in (EMAIL, SMS)]
