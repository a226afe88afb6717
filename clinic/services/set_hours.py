"""When a practice is open: the week, and dates that differ from it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from django.db import transaction

from clinic.models import OpeningException, OpeningHours, Practice
from clinic.services.refusals import Refused

Hours = tuple[dt.time, dt.time]
"""From when to when, on the practice's clock."""
LONGEST = dt.timedelta(days=60)
"""Of one closure. A typing error in the year must not close a practice for ever."""


@transaction.atomic
def set_week(practice: Practice, *, weekdays: Iterable[int], hours: Hours | None) -> None:
    """Open on these weekdays (Monday is 0) at `hours`; None: closed. Raises Refused."""
    _must_run_forward(hours)
    for weekday in weekdays:
        if hours is None:
            OpeningHours.objects.filter(practice=practice, weekday=weekday).delete()
        else:
            OpeningHours.objects.update_or_create(
                practice=practice, weekday=weekday, defaults={"opens": hours[0], "closes": hours[1]}
            )


@transaction.atomic
def set_dates(practice: Practice, *, first: dt.date, last: dt.date, hours: Hours | None, note: str = "") -> None:
    """From `first` to `last`, both counted, closed (or open at `hours`), whatever the week says. Raises Refused."""
    _must_run_forward(hours)
    if not dt.timedelta(0) <= last - first <= LONGEST:
        raise Refused(f"From {first} to {last} is no closure of at most {LONGEST.days} days. Was a date mistyped?")
    opens, closes = hours or (None, None)
    for ahead in range((last - first).days + 1):
        OpeningException.objects.update_or_create(
            practice=practice,
            date=first + dt.timedelta(days=ahead),
            defaults={"opens": opens, "closes": closes, "note": note},
        )


def _must_run_forward(hours: Hours | None) -> None:
    if hours is not None and hours[0] >= hours[1]:
        raise Refused(f"A day that opens at {hours[0]:%H:%M} cannot close at {hours[1]:%H:%M}.")
