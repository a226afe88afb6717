"""A practice sets up how its messages of one medium leave, or leaves it to the installation again."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from urllib.parse import urlsplit

from django.conf import settings
from django.db import transaction

from clinic.models import Practice, Role, Staff
from followup.domain.terms import FollowUpError
from followup.messaging.catalogue import host_in, refusal, service_of
from followup.messaging.hosts import is_local
from followup.messaging.service import Service
from followup.models import Channel, Message, Route
from followup.services.channel_secrets import encrypt
from followup.services.channels import way_of
from followup.services.log import log
from followup.services.who_may import only

MAY = (Role.VET, Role.ADMINISTRATOR)


def filled_in(practice: Practice, medium: str, service: Service) -> Mapping[str, str]:
    """What this practice filled in for this service, secrets too, for a form that keeps what is not typed anew."""
    way = way_of(practice.pk, medium)
    same = way.own and service_of(way.url, medium) is service
    return (service.values(way.url) or {}) if same else {}


@transaction.atomic
def set_up_channel(practice: Practice, medium: Message.Medium, url: str, *, staff: Staff, now: dt.datetime) -> Channel:
    """Keep the address, encrypted. Raises FollowUpError for one that is not on the list or leads where it may not."""
    only(staff, practice.pk, *MAY, step="Setting up how messages leave")
    service = service_of(url, medium)
    fault = refusal(url, medium)
    if fault or service is None:
        raise FollowUpError(f"This cannot be used: {fault}.")
    field = service.host_field.key if service.host_field is not None else ""
    if field and not settings.CHANNELS_MAY_BE_LOCAL:
        _refuse_inside(url, medium, field)
    channel, _ = Channel.objects.update_or_create(
        practice=practice, medium=medium, defaults={"secret_url": encrypt(url), "enabled": True, "closed_until": None}
    )
    _forget_what_was(practice, medium)
    log(
        practice,
        "channel_set_up",
        f"{channel.get_medium_display()}: {service.label}",
        now=now,
        staff=staff,
        medium=medium,
    )
    return channel


@transaction.atomic
def remove_channel(practice: Practice, medium: Message.Medium, *, staff: Staff, now: dt.datetime) -> bool:
    """Forget the practice's own address; False when there was none."""
    only(staff, practice.pk, *MAY, step="Removing how messages leave")
    gone, _ = Channel.objects.filter(practice=practice, medium=medium).delete()
    if gone:
        _forget_what_was(practice, medium)
        log(practice, "channel_removed", str(medium.label), now=now, staff=staff, medium=medium)
    return bool(gone)


def _refuse_inside(url: str, medium: str, field: str) -> None:
    """To our own network, or without encryption across others."""
    if is_local(host_in(url, medium)):
        raise FollowUpError(
            "This server is on this machine or in its network. Whoever keeps the machine can allow that: "
            "CHANNELS_MAY_BE_LOCAL=yes.",
            field=field,
        )
    if urlsplit(url).scheme not in {"smtp", "smtps"} and not urlsplit(url).scheme.endswith("s"):
        raise FollowUpError("Write https://: without it the text and the key can be read on their way.", field=field)


def _forget_what_was(practice: Practice, medium: str) -> None:
    """What stood against the old address says nothing of the new one: the next message tries it."""
    Route.objects.filter(name=f"practice:{practice.pk}:{medium}").delete()
