"""Ways out: which one a message takes, and whether anything gets through it at present.

A way out on which the whole channel failed several times in a row is shut for a while: owners' messages wait for it
without counting their tries, and then one of them tries it. Alerts to staff are tried whatever is shut.
"""

from __future__ import annotations

import datetime as dt

from django.db import transaction
from django.db.models import DateTimeField, F, Value
from django.db.models.functions import Coalesce

from followup.domain.delivery import shut_for
from followup.messaging.channel import Sent
from followup.models import Route
from followup.services.pace import paced


def find(name: str) -> Route:
    """The way out as it was last seen; one that was never tried has no failures."""
    return Route.objects.filter(pk=name).first() or Route(name=name)


@transaction.atomic
def fails(name: str, sent: Sent, *, now: dt.datetime) -> None:
    """Write down that the whole channel failed once more. How long the provider asks us to wait is waited at once."""
    Route.objects.get_or_create(name=name)
    Route.objects.filter(pk=name).update(
        failures=F("failures") + 1,
        why=sent.text,
        since=Coalesce("since", Value(now), output_field=DateTimeField()),
    )
    failures = Route.objects.values_list("failures", flat=True).get(pk=name)
    span = shut_for(failures, sent.outcome)
    asked_for = dt.timedelta(seconds=sent.wait)
    if span is not None or asked_for:
        Route.objects.filter(pk=name).update(shut_until=now + max(paced(span or asked_for), asked_for))


def works(name: str, *, now: dt.datetime) -> None:
    """Write down that a message got through, or was refused for itself alone: the channel is there."""
    Route.objects.update_or_create(
        name=name, defaults={"failures": 0, "shut_until": None, "since": None, "why": "", "last_ok_at": now}
    )
