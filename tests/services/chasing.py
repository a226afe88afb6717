"""What falls due for one patient with time, and what is then written to whom."""

from __future__ import annotations

import datetime as dt

from clinic.models import Owner
from followup.models import Message, Plan
from followup.services.chase import chase
from tests import world

MINUTE = dt.timedelta(minutes=1)
EVENING = world.at("18:30")
CHECK_IN, DOSE, REMINDER = Message.Purpose.CHECK_IN, Message.Purpose.DOSE, Message.Purpose.REMINDER


def quiet_plan() -> Plan:
    """Pip, home at 16:30, nothing written yet. His check-ins of day 0 are at 18:30 and 20:45."""
    made = world.running_plan()
    made.messages.all().delete()
    return made


def written(now: dt.datetime, **only) -> list[Message]:
    """What chasing at `now` writes to owners beyond advice."""
    before = set(Message.objects.values_list("pk", flat=True))
    chase(now=now)
    new = Message.objects.to_owners().exclude(pk__in=before).exclude(purpose=Message.Purpose.ADVICE)
    return list(new.filter(**only).order_by("pk"))


def purposes(now: dt.datetime) -> list[str]:
    """What each of them is for."""
    return [each.purpose for each in written(now)]


def to(message: Message) -> Owner | None:
    """Whom a message is for."""
    return message.recipient.person if message.recipient is not None else None
