"""One tick: look and escalate before sending, so that an alert leaves within the tick of its answer."""

from __future__ import annotations

import datetime as dt
import logging
import time
from collections.abc import Callable
from functools import partial

from followup.models import Heartbeat
from followup.services.canary import queue_canaries
from followup.services.channels import Choose, configured
from followup.services.chase import chase
from followup.services.dispatch import send_due
from followup.services.escalate import escalate
from followup.services.gaps import begin, end
from followup.services.lanes import Spread, in_turn
from followup.services.notices import send_notices
from followup.services.pause import give_up_while_paused, phone_instead_of_advice
from followup.services.reply import take_unfinished

logger = logging.getLogger(__name__)


NONE = dt.timedelta(0)


def tick(
    *,
    now: dt.datetime,
    choose: Choose = configured,
    spread: Spread = in_turn,
    off_by: dt.timedelta = NONE,
    moved_on: dt.timedelta = NONE,
) -> None:
    """Do everything that is due at `now`. Safe to run twice, and twice at once. `spread`: how lanes are sent through.

    A part that fails stops no other, least of all the alerts; but then no heartbeat says that all is well. `off_by`:
    how far this machine is off `now`; `moved_on`: how far a demo's clock was moved on by hand, which is no outage.
    """
    begun = time.monotonic()
    parts: tuple[Callable[[], object], ...] = (
        partial(begin, now=now, off_by=off_by, moved_on=moved_on),
        partial(take_unfinished, now=now),
        partial(chase, now=now),
        partial(send_notices, now=now),
        partial(escalate, now=now),
        partial(queue_canaries, now=now),
        partial(phone_instead_of_advice, now=now),
        partial(give_up_while_paused, now=now),
        partial(send_due, now=now, choose=choose, begun=begun, spread=spread),
    )
    faults = [fault for part in parts if (fault := _fault_of(part)) is not None]
    if faults:
        raise ExceptionGroup("parts of the tick failed", faults)
    Heartbeat.objects.beat("tick", now)
    end(now=now, moved_on=moved_on)


def last_tick() -> dt.datetime | None:
    """When the last tick was done; what `serve` watches."""
    return Heartbeat.objects.last_of("tick")


def _fault_of(part: Callable[[], object]) -> Exception | None:
    try:
        part()
    except Exception as fault:
        logger.exception("a part of the tick failed")
        return fault
    return None
