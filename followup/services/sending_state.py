"""How sending stands: whether what is due goes out, and what stands in its way. A read model; nothing is written.

Two queries, whoever asks: a watcher outside, the page "Sending", and the line above every page of staff. It asks for
nothing that a tick writes down about itself beyond the time, so that it also tells when no tick is done any more.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from typing import Any

from django.conf import settings
from django.db.models import Exists, Q, QuerySet, Subquery

from clinic.models import Practice
from followup.models import Channel, Count, Gap, Heartbeat, Message, Route
from followup.services.pace import paced

DOWN_AFTER = dt.timedelta(minutes=3)
"""A tick comes every 15 seconds; so long without one, or with something due that waits, is no chance any more."""
CANARY_LATE = dt.timedelta(minutes=75)
"""The hourly look through the whole path may be a quarter of an hour late (D)."""
CLOCK_SHOWN = dt.timedelta(hours=1)
"""For so long people are told that this machine's clock was found wrong (D)."""
CLOCK_FAULTS = ("clock_set_back", "clock_jumped")
MEDIA = tuple(Message.Medium)


class Trouble(Enum):
    """What keeps messages from going out, the worst first."""

    NO_TICK = "no tick"
    WAITING = "something waits"
    SHUT = "a way out is shut"
    NO_CANARY = "no canary"


@dataclass(frozen=True)
class Hindrance:
    """One reason why sending is down. `since` None: it has never worked. `why` holds no practice's data."""

    trouble: Trouble
    since: dt.datetime | None
    medium: str = ""
    why: str = ""


@dataclass(frozen=True)
class Span:
    """From when to when. `restored`: an older backup has lost it; else sending was down."""

    began: dt.datetime
    ended: dt.datetime
    restored: bool = False


@dataclass(frozen=True)
class SendingState:
    """How it stood at `now`; None: never. With a `practice`, what waits is that practice's own.

    `alert_waits`, `owner_waits`: since when the oldest message waits that is due, paused practices and a practice's own
    shut ways left out. `own`: the media for which the practice has its own channel. `routes`: ways out by name; without
    a practice only those that are shut.
    """

    now: dt.datetime
    practice: int | None = None
    tick: dt.datetime | None = None
    sent: dt.datetime | None = None
    reply: dt.datetime | None = None
    canary: dt.datetime | None = None
    alert_waits: dt.datetime | None = None
    owner_waits: dt.datetime | None = None
    caught_up: Span | None = None
    held: Span | None = None
    clock_fault: tuple[str, dt.datetime] | None = None
    own: frozenset[str] = frozenset()
    routes: Mapping[str, Route] | None = None

    @property
    def oldest_overdue(self) -> dt.datetime | None:
        """Since when the oldest message waits that could go."""
        return min((each for each in (self.alert_waits, self.owner_waits) if each is not None), default=None)

    @property
    def only_this_screen(self) -> bool:
        """Whether an emergency could reach nobody but whoever looks at the screen."""
        return not (settings.EMAIL_URL or settings.SMS_URL or self.own)

    @property
    def hindrances(self) -> tuple[Hindrance, ...]:
        """Why sending is down, the worst first; none: it works.

        A practice's own way that is shut is not the whole program's fault; the installation's is, for those who use it.
        """
        return (*self._at_a_standstill(), *self._shut_for_all())

    def route(self, medium: str) -> Route | None:
        """The way out that this practice's messages take, if it was ever tried."""
        whose = f"practice:{self.practice}" if medium in self.own else "installation"
        return (self.routes or {}).get(f"{whose}:{medium}")

    def _at_a_standstill(self) -> tuple[Hindrance, ...]:
        waits = [self.alert_waits] if self.caught_up or self.held else [self.alert_waits, self.owner_waits]
        oldest = min((each for each in waits if each is not None), default=None)
        found = []
        if self.tick is None or self.now - self.tick > paced(DOWN_AFTER):
            found.append(Hindrance(Trouble.NO_TICK, self.tick))
        if oldest is not None and self.now - oldest > paced(DOWN_AFTER):
            found.append(Hindrance(Trouble.WAITING, oldest))
        if self.canary is not None and self.now - self.canary > CANARY_LATE:
            found.append(Hindrance(Trouble.NO_CANARY, self.canary))
        return tuple(found)

    def _shut_for_all(self) -> tuple[Hindrance, ...]:
        shut = [each for each in (self.routes or {}).values() if is_shut(each)]
        return tuple(
            Hindrance(Trouble.SHUT, each.since, medium_of(each), each.why)
            for each in sorted(shut, key=lambda route: route.name)
            if each.name.startswith("installation:") and medium_of(each) not in self.own
            if each.since is not None and self.now - each.since > paced(DOWN_AFTER)
        )


def sending_state(*, now: dt.datetime, practice: Practice | None = None) -> SendingState:
    """How sending stands for the whole installation, or for one practice."""
    routes = {each.name: each for each in _routes(practice)}
    there: QuerySet[Practice] | QuerySet[Heartbeat] = (
        Heartbeat.objects.order_by("name")[:1] if practice is None else Practice.objects.filter(pk=practice.pk)
    )
    found: dict[str, Any] = dict(next(iter(there.values(**_asked(now, practice, routes))), {}))
    beats = {name: found.get(name) for name in ("tick", "sent", "reply", "canary")}
    faults = [(name, at) for name in CLOCK_FAULTS if (at := found.get(name)) is not None and now - at < CLOCK_SHOWN]
    return SendingState(
        now=now,
        practice=practice.pk if practice is not None else None,
        **beats,
        alert_waits=found.get("alert_waits"),
        owner_waits=found.get("owner_waits"),
        caught_up=_span(found, "caught_up"),
        held=_span(found, "held"),
        clock_fault=max(faults, key=lambda fault: fault[1], default=None),
        own=frozenset(medium for medium in MEDIA if found.get(f"own_{medium}")),
        routes=routes,
    )


def is_shut(route: Route) -> bool:
    """Whether it failed so often that it was left alone, and nothing has got through since."""
    return route.shut_until is not None


def medium_of(route: Route) -> str:
    """The medium of a way out, from its name."""
    return route.name.rsplit(":", 1)[-1]


def _routes(practice: Practice | None) -> QuerySet[Route]:
    if practice is None:
        return Route.objects.filter(shut_until__isnull=False)
    names = [f"{whose}:{medium}" for whose in ("installation", f"practice:{practice.pk}") for medium in MEDIA]
    return Route.objects.filter(name__in=names)


def _asked(now: dt.datetime, practice: Practice | None, routes: Mapping[str, Route]) -> dict[str, Subquery | Exists]:
    """Everything else, each as one look-up of one row, so that they make one query."""
    waiting = Message.objects.due(now).exclude(_behind_own_shut_way(routes)).order_by("not_before")
    if practice is not None:
        waiting = waiting.filter(practice=practice)
    to_owners = waiting.filter(audience=Message.Audience.OWNER, practice__messages_paused=False)
    others = waiting.filter(audience__in=[Message.Audience.STAFF, Message.Audience.LOOP])
    gaps = {"caught_up": Gap.objects.being_caught_up(), "held": Gap.objects.holding()}
    asked: dict[str, Subquery | Exists] = {
        name: Subquery(Heartbeat.objects.filter(name=name).values("at")[:1])
        for name in ("tick", "sent", "reply", "canary")
    }
    asked |= {name: Subquery(Count.objects.filter(name=name).values("last_at")[:1]) for name in CLOCK_FAULTS}
    asked |= {
        f"{name}_{field}": Subquery(rows.order_by("-ended_at", "-pk").values(field)[:1])
        for name, rows in gaps.items()
        for field in ("began_at", "ended_at", "kind")
    }
    own = Channel.objects.filter(practice=practice, enabled=True)
    asked |= {f"own_{medium}": Exists(own.filter(medium=medium)) for medium in MEDIA if practice is not None}
    return asked | {
        "alert_waits": Subquery(others.values("not_before")[:1]),
        "owner_waits": Subquery(to_owners.values("not_before")[:1]),
    }


def _behind_own_shut_way(routes: Mapping[str, Route]) -> Q:
    """What waits for a practice's own channel, which is shut: its own affair, and shown to itself."""
    behind = Q(pk__isnull=True)
    for route in routes.values():
        whose, *rest = route.name.split(":")
        if whose == "practice" and is_shut(route):
            behind |= Q(practice_id=int(rest[0]), medium=rest[1])
    return behind


def _span(found: Mapping[str, Any], name: str) -> Span | None:
    began, ended = found.get(f"{name}_began_at"), found.get(f"{name}_ended_at")
    restored = found.get(f"{name}_kind") == Gap.Kind.RESTORED
    return Span(began, ended, restored) if began is not None and ended is not None else None
