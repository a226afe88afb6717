"""One tick: look and escalate before sending, so that an alert leaves within the tick of its answer."""

from __future__ import annotations

import datetime as dt

from followup.models import Heartbeat, Message
from followup.services.channels import Choose, configured
from followup.services.chase import chase
from followup.services.dispatch import send_due
from followup.services.escalate import escalate
from followup.services.reply import take_unfinished


def tick(*, now: dt.datetime, choose: Choose = configured) -> None:
    """Do everything that is due at `now`. Safe to run twice, and twice at once."""
    take_unfinished(now=now)
    chase(now=now)
    escalate(now=now)
    send_due(now=now, choose=choose, audience=Message.Audience.STAFF)
    send_due(now=now, choose=choose, audience=Message.Audience.OWNER)
    Heartbeat.objects.beat("tick", now)


def last_tick() -> dt.datetime | None:
    """When the last tick was done; what `serve` watches."""
    return Heartbeat.objects.last_of("tick")
