"""What may be set up at all: the list of services, and what is said of an address that is not on it."""

from __future__ import annotations

from urllib.parse import urlsplit

from followup.messaging.chat_services import CHAT_SERVICES
from followup.messaging.service import TO, Field, Kind, Service
from followup.messaging.sms_services import CHAT, GATEWAY, SMS, SMS_SERVICES

EMAIL = "email"
MAIL = Service(
    key="smtp",
    label="Mail server",
    media=frozenset({EMAIL}),
    template="smtp{s}://{user}:{key}@{server}?from={sender}",
    fields=(
        Field("server", "Mail server", Kind.MAIL_SERVER, example="mail.example.org:587"),
        Field("tls", "Encryption", Kind.TLS),
        Field("user", "User name", required=False, pattern=r"[^\s\x00]{1,200}"),
        Field("key", "Password", pattern=r"[^\r\n\x00]{1,200}", secret=True, required=False),
        Field("sender", "Sender", Kind.EMAIL, example="the address that owners see"),
    ),
    note="Our log-in is never sent to a server that offers no encryption.",
)
SERVICES: tuple[Service, ...] = (MAIL, *SMS_SERVICES, *CHAT_SERVICES)


def services_for(medium: str) -> tuple[Service, ...]:
    """Those that may carry it, in the order in which they are offered."""
    return tuple(service for service in SERVICES if medium in service.media)


def service_of(url: str, medium: str) -> Service | None:
    """The service that this address belongs to; None when it is not on the list for this medium."""
    schema = url.partition("://")[0].lower()
    return next((service for service in services_for(medium) if schema in service.schemas), None)


def refusal(url: str, medium: str) -> str:
    """Why a message may not go this way, in a sentence without the address; empty: it may."""
    service = service_of(url, medium)
    if service is None:
        offered = ", ".join(sorted(min(each.schemas, key=len) for each in services_for(medium)))
        return f"its service is not on the list: {offered}"
    wants_number = medium == SMS and service is not GATEWAY  # ours has the number in its body
    has_place = TO in url.partition("://")[2]
    if wants_number and not has_place:
        return "the owner's number has no place in it: write {to} there"
    return "only a text message has a number: take out {to}" if has_place and not wants_number else ""


def host_in(url: str, medium: str) -> str:
    """The machine that the practice itself named; empty where the service has its own, or it cannot be read."""
    service = service_of(url, medium)
    if service is None or service.host_field is None:
        return ""
    try:
        return urlsplit(url).hostname or ""
    except ValueError:
        return ""


__all__ = ["CHAT", "EMAIL", "GATEWAY", "MAIL", "SERVICES", "SMS", "host_in", "refusal", "service_of", "services_for"]
