"""Lanes: what goes out by one way, each sent apart from the others, so that a way that hangs holds up only itself.

Alerts to staff never share a lane with what owners get: whatever is piled up or hangs there, an alert has a worker.
"""

from __future__ import annotations

import datetime as dt
import logging
import threading
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor, wait
from dataclasses import dataclass

from django.db import connections

from followup.models import Channel, Message
from followup.models.message import MessageQuerySet
from followup.services.outbox import ALERT_PRIORITY, OWNER_PRIORITIES

logger = logging.getLogger(__name__)

AT_ONCE = 8
"""Lanes that one process sends through at once, of alerts and of owners' messages each."""
PATIENCE = 10.0
"""Seconds for which a tick waits for its lanes; those that are still busy then go on without it."""


@dataclass(frozen=True, order=True)
class Lane:
    """`practice`: whose own channel it is; None: the installation's, which all without one of their own share."""

    alerts: bool
    medium: str
    practice: int | None = None
    loop: bool = False

    @property
    def route(self) -> str:
        """The name of the way out that it takes."""
        if self.loop:
            return "loop"
        return f"installation:{self.medium}" if self.practice is None else f"practice:{self.practice}:{self.medium}"

    @property
    def heartbeat(self) -> str:
        """What has worked when a message got through."""
        return "canary" if self.loop else "sent"

    @property
    def priorities(self) -> tuple[int, ...]:
        """Those that may be in it, the most pressing first."""
        return (ALERT_PRIORITY,) if self.alerts else OWNER_PRIORITIES

    def messages(self, now: dt.datetime) -> MessageQuerySet:
        """What is due in it."""
        audience = Message.Audience.STAFF if self.alerts else Message.Audience.OWNER
        due = Message.objects.due(now).filter(
            audience=Message.Audience.LOOP if self.loop else audience, medium=self.medium
        )
        if self.loop:
            return due
        if not self.alerts:
            due = due.filter(practice__messages_paused=False)
        if self.practice is not None:
            return due.filter(practice_id=self.practice)
        own = Channel.objects.filter(enabled=True, medium=self.medium).values("practice_id")
        return due.exclude(practice_id__in=own)


Spread = Callable[[Sequence[Lane], Callable[[Lane], int]], int]
"""Sends through lanes, one after the other or side by side; gives how many messages went out."""


def lanes_due(now: dt.datetime, audience: str | None = None) -> list[Lane]:
    """Every lane in which anything is due, alerts first."""
    due = Message.objects.due(now)
    if audience is not None:
        due = due.filter(audience=audience)
    found = due.order_by().values_list("audience", "medium", "practice_id").distinct()
    own = set(Channel.objects.filter(enabled=True).values_list("practice_id", "medium"))
    lanes = {_lane(who, medium, practice, own=own) for who, medium, practice in found}
    return sorted(lanes, key=lambda lane: (not lane.alerts, not lane.loop, lane.route))


def _lane(audience: str, medium: str, practice: int, *, own: set[tuple[int, str]]) -> Lane:
    if audience == Message.Audience.LOOP:
        return Lane(alerts=False, medium=medium, loop=True)
    whose = practice if (practice, medium) in own else None
    return Lane(alerts=audience == Message.Audience.STAFF, medium=medium, practice=whose)


def in_turn(lanes: Sequence[Lane], send: Callable[[Lane], int]) -> int:
    """One after the other, in this thread."""
    return sum(send(lane) for lane in lanes)


class SideBySide:
    """Each lane in a thread of its own. A lane that is still busy from an earlier tick is left to it."""

    def __init__(self) -> None:
        """Threads are made when they are first needed."""
        self._alerts = ThreadPoolExecutor(AT_ONCE, thread_name_prefix="alerts")
        self._owners = ThreadPoolExecutor(AT_ONCE, thread_name_prefix="owners")
        self._busy: dict[Lane, Future[int]] = {}
        self._guard = threading.Lock()

    def close(self) -> None:
        """Wait until every lane has ended, and end the threads."""
        for pool in (self._alerts, self._owners):
            pool.shutdown()

    def __call__(self, lanes: Sequence[Lane], send: Callable[[Lane], int]) -> int:
        """Send through all of them, and wait for them for a while."""
        with self._guard:
            free = [lane for lane in lanes if lane not in self._busy or self._busy[lane].done()]
            started = {lane: self._pool(lane).submit(_apart, send, lane) for lane in free}
            self._busy |= started
        done, _ = wait(started.values(), timeout=PATIENCE)
        return _counted(done)

    def _pool(self, lane: Lane) -> ThreadPoolExecutor:
        return self._alerts if lane.alerts else self._owners


def _apart(send: Callable[[Lane], int], lane: Lane) -> int:
    """One lane, with a connection of its own to the database: a thread that waits for work holds none."""
    try:
        return send(lane)
    finally:
        connections.close_all()


def _counted(done: Iterable[Future[int]]) -> int:
    """How many went out; a lane that broke is raised, after all the others have been sent."""
    faults = [fault for each in done if isinstance(fault := each.exception(), Exception)]
    if faults:
        raise ExceptionGroup("lanes broke", faults)
    return sum(each.result() for each in done)


side_by_side = SideBySide()
"""Of this process."""
