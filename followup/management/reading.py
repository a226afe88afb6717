"""What is typed on the command line: weekdays, hours, dates, phones. Each is read, or refused in a sentence."""

from __future__ import annotations

import datetime as dt
from argparse import ArgumentTypeError

from django.conf import settings

from clinic.models import Practice
from clinic.models.practice import WEEKDAYS
from clinic.phones import NotAPhone, read_phone
from clinic.services.refusals import Refused
from clinic.services.set_hours import Hours

SHORT = {name[:3].lower(): number for number, name in WEEKDAYS}
CLOSED = "closed"


def weekdays(text: str) -> list[int]:
    """'mon-fri', 'sat' or 'mon,wed': weekdays, Monday 0. A range may run over the week's end."""
    found: list[int] = []
    for part in text.lower().split(","):
        first, _, last = part.strip().partition("-")
        try:
            start, end = SHORT[first.strip()[:3]], SHORT[(last or first).strip()[:3]]
        except KeyError:
            raise ArgumentTypeError(f"“{text}” names no weekdays. Write mon-fri, sat, or mon,wed.") from None
        found += [(start + ahead) % 7 for ahead in range((end - start) % 7 + 1)]
    return found


def hours(text: str) -> Hours | None:
    """'08:00-18:30', or 'closed' for None."""
    if text.strip().lower() == CLOSED:
        return None
    opens, _, closes = text.partition("-")
    try:
        return dt.time.fromisoformat(opens.strip()), dt.time.fromisoformat(closes.strip())
    except ValueError:
        raise ArgumentTypeError(f"“{text}” are no hours. Write 08:00-18:30, or closed.") from None


def date(text: str) -> dt.date:
    """'2025-12-24'."""
    try:
        return dt.date.fromisoformat(text.strip())
    except ValueError:
        raise ArgumentTypeError(f"“{text}” is no date. Write it as 2025-12-24.") from None


def moment(text: str) -> dt.datetime:
    """'2025-12-24 18:30', on the practice's clock: no zone yet, and none may be typed."""
    try:
        found = dt.datetime.fromisoformat(text.strip())
    except ValueError:
        found = None
    if found is None or found.tzinfo is not None:
        raise ArgumentTypeError(f"“{text}” is no moment. Write it as '2025-12-24 18:30', on the practice's clock.")
    return found


def phone(text: str) -> str:
    """A telephone number, as E.164."""
    try:
        return read_phone(text, settings.PHONENUMBER_DEFAULT_REGION).e164
    except NotAPhone as not_a_phone:
        raise ArgumentTypeError(str(not_a_phone)) from None


def practice(slug: str) -> Practice:
    """The practice of this short name. Raises Refused, and says which there are."""
    found = Practice.objects.filter(slug=slug).first()
    if found is None:
        there_are = ", ".join(Practice.objects.order_by("slug").values_list("slug", flat=True)) or "none yet"
        raise Refused(f"There is no practice “{slug}”. There are: {there_are}.")
    return found


def as_typed(when: Hours | None) -> str:
    """Hours as they are typed."""
    return CLOSED if when is None else f"{when[0]:%H:%M}-{when[1]:%H:%M}"
