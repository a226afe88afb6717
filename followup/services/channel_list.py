"""How one practice's messages leave, in words. A read model: nothing here writes, and nothing in it is a secret."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

from clinic.models import Practice
from followup.messaging.catalogue import host_in, refusal, service_of
from followup.messaging.service import Service
from followup.models import Event, Message, Route
from followup.services.channels import Way, way_of
from followup.services.try_channel import last_tries

NOTHING = {
    Message.Medium.EMAIL: "Nothing is set up: e-mails stay in the tray and reach nobody.",
    Message.Medium.SMS: "Nothing is set up: text messages stay in the tray and reach nobody.",
    Message.Medium.CHAT: "No room is set up: alerts reach staff by e-mail and text message only.",
}


@dataclass(frozen=True)
class Shown:
    """One medium. `through` says by what it leaves; `fault` why nothing can; `shut` why nothing is tried just now.

    `own`: set up by the practice itself. `kept`: what was filled in, without what is secret.
    """

    medium: Message.Medium
    through: str
    own: bool
    fault: str
    shut: Route | None
    tried: Event | None
    service: Service | None
    kept: Mapping[str, str]

    @property
    def page(self) -> str:
        """The name of its page."""
        return f"followup:channel_{self.medium}"


def channel_list(practice: Practice, *, now: dt.datetime) -> tuple[Shown, ...]:
    """Every medium at `now`."""
    ways = [way_of(practice.pk, medium) for medium in Message.Medium]
    shut = {route.name: route for route in Route.objects.shut(now).filter(name__in=[way.name for way in ways])}
    tries = last_tries(practice)
    return tuple(_shown(way, shut.get(way.name), tries.get(way.medium)) for way in ways)


def shown_channel(practice: Practice, medium: Message.Medium, *, now: dt.datetime) -> Shown:
    """One of them."""
    return next(each for each in channel_list(practice, now=now) if each.medium == medium)


def _shown(way: Way, shut: Route | None, tried: Event | None) -> Shown:
    medium = Message.Medium(way.medium)
    service = service_of(way.url, way.medium) if way.url else None
    fault = way.fault or (refusal(way.url, way.medium) if way.url else "")
    kept = (service.values(way.url) if service is not None and way.own else None) or {}
    secret = {field.key for field in service.fields if field.secret} if service is not None else set()
    return Shown(
        medium=medium,
        through=_through(way, service) if service is not None else NOTHING[medium] if not fault else "",
        own=way.own,
        fault=fault,
        shut=shut,
        tried=tried,
        service=service,
        kept={key: value for key, value in kept.items() if key not in secret},
    )


def _through(way: Way, service: Service) -> str:
    host = host_in(way.url, way.medium)
    by = "set up by this practice" if way.own else "set up for the whole installation"
    return f"{service.label}{f' at {host}' if host else ''}, {by}."
