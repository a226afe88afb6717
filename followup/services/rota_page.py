"""The rota as staff read it: two weeks by day, with holidays and with whoever is on call. Writes nothing."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import prefetch_related_objects

from clinic.models import OnCallShift, OpeningException, Practice
from followup.domain.hours import DAY
from followup.domain.rota import by_day, holes
from followup.domain.spans import Span, span
from followup.models import Message
from followup.services.call_people import openings
from followup.services.escalate_reach import media_set_up
from followup.services.rota_cover import Cover, cover
from followup.services.rota_words import from_to, lasts

FORTNIGHT = 14
CALLED = {1: "first", 2: "second", 3: "third", 4: "fourth"}
BY = {"email": "e-mail", "sms": "text message"}
USUAL = "e-mail, then text message"


@dataclass(frozen=True)
class ShiftShown:
    """One shift in words. `goes_on`: it began on an earlier day."""

    pk: int
    who: str
    called: str
    when: str
    lasts: str
    by: str
    goes_on: bool


@dataclass(frozen=True)
class DayShown:
    """One day. `hours`: when it is open; `note`: why the day differs; `holes`: when nobody is there or on call."""

    day: dt.date
    today: bool
    hours: str
    note: str
    shifts: tuple[ShiftShown, ...]
    holes: tuple[str, ...]


@dataclass(frozen=True)
class RotaPage:
    """The whole page. `earlier`, `later`: the first days of the fortnights beside it.

    `no_texts`: text messages are not set up, so alerts by text go by e-mail.
    """

    days: tuple[DayShown, ...]
    cover: Cover
    exceptions: tuple[OpeningException, ...]
    no_texts: bool
    earlier: dt.date
    later: dt.date


def rota_page(practice: Practice, *, first: dt.date | None, now: dt.datetime) -> RotaPage:
    """A fortnight from the Monday of `first`, or of today. As many queries, however much is in it."""
    prefetch_related_objects([practice], "opening_hours", "opening_exceptions", "providers")
    today = now.astimezone(practice.zone).date()
    begins = first or today
    monday = begins - begins.weekday() * DAY
    return RotaPage(
        days=tuple(_days(practice, monday, today, now)),
        cover=cover(practice, now=now),
        exceptions=tuple(each for each in practice.opening_exceptions.all() if each.date >= today),
        no_texts=Message.Medium.SMS not in media_set_up(practice),
        earlier=monday - FORTNIGHT * DAY,
        later=monday + FORTNIGHT * DAY,
    )


def shift_shown(shift: OnCallShift, zone_of: Practice, *, day: dt.date | None = None) -> ShiftShown:
    """One shift; `day`: the day under which it stands."""
    zone = zone_of.zone
    found = _span_of(shift)
    return ShiftShown(
        pk=shift.pk,
        who=shift.staff.name,
        called=CALLED.get(shift.position, f"number {shift.position}"),
        when=from_to(found, zone),
        lasts=lasts(found, zone),
        by=ways(shift),
        goes_on=day is not None and found.starts.astimezone(zone).date() < day,
    )


def ways(shift: OnCallShift) -> str:
    """By what somebody is alerted, in order, in words."""
    return ", then ".join(BY[each] for each in shift.media if each in BY) or USUAL


def to_come(practice: Practice, *, now: dt.datetime) -> list[OnCallShift]:
    """Every shift that is not over within the next quarter of a year."""
    return list(OnCallShift.objects.between(practice, now, now + 92 * DAY))


def _days(practice: Practice, monday: dt.date, today: dt.date, now: dt.datetime) -> list[DayShown]:
    zone = practice.zone
    begins, ends = (dt.datetime.combine(monday + days * DAY, dt.time(0), zone) for days in (0, FORTNIGHT))
    rows = list(OnCallShift.objects.between(practice, begins, ends))
    opening = openings(practice, since=begins, until=ends)
    window = span(max(begins.astimezone(dt.UTC), now), ends)  # what is over needs nobody
    empty = holes([_span_of(row) for row in rows], opening, window) if window is not None else ()
    return [_day(practice, monday + days * DAY, today, rows, empty) for days in range(FORTNIGHT)]


def _day(
    practice: Practice, day: dt.date, today: dt.date, rows: Sequence[OnCallShift], empty: Sequence[Span]
) -> DayShown:
    zone = practice.zone
    there = [row for row in rows if by_day([_span_of(row)], day, zone)]
    hours, note = (
        practice.opening(day),
        next((e.note for e in practice.opening_exceptions.all() if e.date == day), None),
    )
    return DayShown(
        day=day,
        today=day == today,
        hours=f"open {hours[0]:%H:%M} to {hours[1]:%H:%M}" if hours is not None else "closed",
        note="" if note is None else note or "not as in other weeks",
        shifts=tuple(shift_shown(row, practice, day=day) for row in there),
        holes=tuple(_clock_span(each, zone) for each in by_day(empty, day, zone)),
    )


def _clock_span(found: Span, zone: dt.tzinfo) -> str:
    """ "18:30 to 24:00" within one day."""
    starts, ends = found.starts.astimezone(zone), found.ends.astimezone(zone)
    return f"{starts:%H:%M} to {'24:00' if ends.date() > starts.date() else f'{ends:%H:%M}'}"


def _span_of(shift: OnCallShift) -> Span:
    return Span(shift.starts_at.astimezone(dt.UTC), shift.ends_at.astimezone(dt.UTC))
