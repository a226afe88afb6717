"""The one clock. Doors ask it once and pass `now` on; nothing else reads the time."""

from __future__ import annotations

import datetime as dt

from django.conf import settings

from clinic.models import ClockOffset


def now() -> dt.datetime:
    """This moment, in UTC. In the demo and in tests, moved on by the stored offset."""
    moment = dt.datetime.now(dt.UTC)
    if settings.DEMO or settings.TESTING:
        moment += ClockOffset.objects.values_list("offset", flat=True).first() or dt.timedelta(0)
    return moment
