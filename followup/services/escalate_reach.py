"""How far an alert can reach: by which ways this practice can really write to its staff."""

from __future__ import annotations

from collections.abc import Iterable

from django.conf import settings

from clinic.models import Practice
from followup.models import Channel, Message

Medium = Message.Medium


def media_set_up(practice: Practice) -> frozenset[str]:
    """The media that lead out of the building: the practice's own, or the installation's. One query."""
    return leading_out(Channel.objects.filter(practice=practice, enabled=True).values_list("medium", flat=True))


def leading_out(own: Iterable[str]) -> frozenset[str]:
    """The same, where it is known for which media the practice has its `own` channel."""
    by_installation = {Medium.EMAIL: settings.EMAIL_URL, Medium.SMS: settings.SMS_URL}
    return frozenset({str(medium) for medium, url in by_installation.items() if url} | set(own))
