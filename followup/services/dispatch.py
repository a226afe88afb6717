"""Sending what is due: claim, commit, send, record. Never inside a transaction.

A claim is a lease with a fencing token that runs out, so a killed worker loses nothing; an outcome is written only with
the token. It may run twice, or twice at once. Source of the policies: domain/delivery.py; DEVELOPERS.md, "Delivery".
"""

from __future__ import annotations

import datetime as dt
import time
from dataclasses import dataclass
from functools import partial

from django.db import transaction

from followup.domain.delivery import LEASE
from followup.messaging.channel import Outcome, Sent
from followup.models import Gap, Heartbeat, Message, Route
from followup.services import routes
from followup.services.channels import Choose, configured
from followup.services.claim import Claim, Queues, claim, queues
from followup.services.clock_guard import expiry_waits
from followup.services.deliver import deliver
from followup.services.lanes import Lane, Spread, in_turn, lanes_due
from followup.services.not_sent import give_up
from followup.services.outbox import ADVICE_PRIORITY
from followup.services.pace import paced
from followup.services.sending_outcome import pass_on, put_back, record_unknown
from followup.services.turns import open_gap
from followup.services.unasked import were_not_asked

GOES_ON_FOR = 20.0
"""Seconds of one lane's run, after which no further message is claimed: the next tick goes on."""
MOST_IN_ONE_GO = 500
"""Rows that a tick gives up, takes back or passes on; the rest at the next."""
A_MINUTE = dt.timedelta(minutes=1)


def send_due(
    *,
    now: dt.datetime,
    choose: Choose = configured,
    audience: Message.Audience | None = None,
    begun: float | None = None,
    spread: Spread = in_turn,
) -> int:
    """Send everything that is due, alerts to staff first; returns how many went out.

    `begun`: when `now` was read, on the monotonic clock; leases are counted from the real moment of their claim.
    """
    give_up_what_is_late(now=now)
    take_back_lost_leases(now=now)
    leave_the_older(now=now)
    run = Run(now, time.monotonic() if begun is None else begun, choose)
    return spread(lanes_due(now, audience), partial(send_through, run=run))


@dataclass(frozen=True)
class Run:
    """One run of sending: `now`, read at `begun` on the monotonic clock."""

    now: dt.datetime
    begun: float
    choose: Choose

    def claim(self, of: Queues, gap: Gap | None) -> Claim | None:
        """The next message of these queues, leased from this very moment on."""
        passed = dt.timedelta(seconds=time.monotonic() - self.begun)
        return claim(of, now=self.now, until=self.now + passed + paced(LEASE), gap=gap)


def send_through(lane: Lane, *, run: Run) -> int:
    """Send what is due in one lane, until nothing is, or the way out turns out to be down; returns how many went."""
    here, sent, route = time.monotonic(), 0, routes.find(lane.route)
    gap = None if lane.alerts or lane.loop else open_gap()
    due = queues(lane, now=run.now)
    while time.monotonic() - here < GOES_ON_FOR:
        if _is_shut(route, lane, now=run.now):
            pass_on_what_presses(lane, route, now=run.now)
            break
        taken = run.claim(due, gap)
        if taken is None:
            break
        came_of_it = deliver(taken, now=run.now, choose=run.choose)
        if came_of_it.went_out and not sent:  # `now` is the same for the whole run, so once is enough
            Heartbeat.objects.beat(lane.heartbeat, run.now)
        sent += came_of_it.went_out
        route = _noted(route, came_of_it.sent, now=run.now)
    return sent


def give_up_what_is_late(*, now: dt.datetime) -> None:
    """What is no longer worth sending is not sent late: it becomes a task for staff. Not by a clock in doubt."""
    late = Message.objects.run_out(now).select_related("plan__practice", "recipient__person")[:MOST_IN_ONE_GO]
    if not late or expiry_waits(now):
        return
    for message in late:
        with transaction.atomic():
            if _move(message, Message.State.READY, state=Message.State.EXPIRED):
                give_up(message, now=now)


def take_back_lost_leases(*, now: dt.datetime) -> None:
    """A lease that ran out is an unknown outcome: one more try, then a person. An alert is never parked.

    What its worker had not begun to hand in has surely not gone out: it waits again, and the try does not count.
    """
    for message in Message.objects.lease_lost(now).select_related("plan", "recipient__person")[:MOST_IN_ONE_GO]:
        if message.begun_at is None:
            put_back(message, until=now)
        else:
            record_unknown(message, now=now, why="the worker did not report back")


def leave_the_older(*, now: dt.datetime) -> None:
    """Of several check-ins due to one person only the newest goes out, after an outage."""
    due = Message.objects.due(now).exclude(collapse_key="").order_by("recipient_id", "collapse_key", "-due_at", "-pk")
    newest: set[tuple[int | None, str]] = set()
    for message in due[:MOST_IN_ONE_GO]:
        key = (message.recipient_id, message.collapse_key)
        if key in newest and _move(message, Message.State.READY, state=Message.State.SUPERSEDED):
            were_not_asked([message.pk])
        newest.add(key)


def pass_on_what_presses(lane: Lane, route: Route, *, now: dt.datetime) -> None:
    """Advice does not wait for a way out that is shut: it goes by another, or a person is called."""
    pressing = lane.messages(now).filter(priority__lte=ADVICE_PRIORITY).select_related("plan", "recipient__person")
    for message in pressing[:MOST_IN_ONE_GO]:
        pass_on(message, route.why, now=now)


def _is_shut(route: Route, lane: Lane, *, now: dt.datetime) -> bool:
    """Whether it is left alone. An alert is tried whatever is shut."""
    return not lane.alerts and route.shut_until is not None and route.shut_until > now


def _noted(route: Route, sent: Sent | None, *, now: dt.datetime) -> Route:
    """The way out as it is known after a try."""
    if sent is None:
        return route
    if sent.whole_channel or sent.outcome is Outcome.CONFIG:
        routes.fails(route.name, sent, now=now)
    elif route.failures or route.last_ok_at is None or now - route.last_ok_at > A_MINUTE:
        routes.works(route.name, now=now)
    else:
        return route
    return routes.find(route.name)


def _move(message: Message, old: Message.State, **changes: object) -> bool:
    return Message.objects.filter(pk=message.pk, state=old).update(**changes) == 1
