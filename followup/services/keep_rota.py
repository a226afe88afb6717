"""Changing the rota and the days on which the practice differs from its week. Every change is written down."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from django.db import transaction

from clinic.models import Membership, OnCallShift, OpeningException, Practice, Staff
from clinic.models.staff import MEDIA
from clinic.services.put_on_call import put_on_call
from clinic.services.refusals import Refused
from clinic.services.set_hours import Hours, set_dates
from followup.domain.rota import MOST_WEEKS, Written
from followup.domain.spans import Span
from followup.domain.terms import FollowUpError
from followup.services.log import log
from followup.services.rota_words import from_to


@dataclass(frozen=True)
class NewShifts:
    """What the form says: one shift, and the same in the weeks after it. `media`: the ways of alert, in order."""

    who: Staff
    written: Written
    position: int
    media: Sequence[str]
    weeks: int = 1


@dataclass(frozen=True)
class NewDays:
    """Dates that differ from the week: closed, or open at other hours."""

    first: dt.date
    last: dt.date
    hours: Hours | None
    note: str


@transaction.atomic
def add_shifts(practice: Practice, new: NewShifts, *, staff: Staff, now: dt.datetime) -> list[OnCallShift]:
    """All of them or none. Raises FollowUpError with the field that it belongs to."""
    if not 1 <= new.weeks <= MOST_WEEKS:
        raise FollowUpError(f"Repeat for 1 to {MOST_WEEKS} weeks.", field="weeks")
    _refuse_media(new.who, new.media)
    spans = [new.written.weeks_later(week).span(practice.zone) for week in range(new.weeks)]
    if spans[0].ends <= now:
        raise FollowUpError("This shift is over already. Was a date mistyped?", field="day")
    return [_add(practice, new, found, staff=staff, now=now) for found in spans]


@transaction.atomic
def take_away(shift: OnCallShift, *, staff: Staff, now: dt.datetime) -> None:
    """Nobody is on call in its place."""
    log(shift.practice, "rota_changed", f"taken away: {_words(shift)}", now=now, staff=staff, person=shift.staff_id)
    shift.delete()


@transaction.atomic
def hand_over(shift: OnCallShift, to: Staff, *, staff: Staff, now: dt.datetime) -> None:
    """Somebody else takes this shift, by the usual ways. Raises FollowUpError."""
    _refuse_stranger(shift.practice, to, field="to")
    before = _words(shift)
    _refuse_twice(shift.practice, to, _span_of(shift), apart_from=[shift.pk], field="to")
    OnCallShift.objects.filter(pk=shift.pk).update(staff=to, media=[])
    log(shift.practice, "rota_changed", f"{before}: now {to}", now=now, staff=staff, person=to.pk)


@transaction.atomic
def swap(shift: OnCallShift, other: OnCallShift, *, staff: Staff, now: dt.datetime) -> None:
    """The two people take one another's shifts; each keeps his own ways of alert. Raises FollowUpError."""
    if other.practice_id != shift.practice_id or other.staff_id == shift.staff_id:
        raise FollowUpError("Choose a shift of somebody else.", field="to")
    both = [shift.pk, other.pk]
    _refuse_twice(shift.practice, other.staff, _span_of(shift), apart_from=both, field="to")
    _refuse_twice(shift.practice, shift.staff, _span_of(other), apart_from=both, field="to")
    words = f"swapped: {_words(shift)}, and {_words(other)}"
    OnCallShift.objects.filter(pk=shift.pk).update(staff=other.staff, media=other.media)
    OnCallShift.objects.filter(pk=other.pk).update(staff=shift.staff, media=shift.media)
    log(shift.practice, "rota_changed", words, now=now, staff=staff)


@transaction.atomic
def keep_days(practice: Practice, new: NewDays, *, staff: Staff, now: dt.datetime) -> None:
    """The practice is closed, or open at other hours, on these dates. Raises FollowUpError."""
    today = now.astimezone(practice.zone).date()
    if new.first < today:
        raise FollowUpError("This date is over. Was it mistyped?", field="first")
    try:
        set_dates(practice, first=new.first, last=new.last, hours=new.hours, note=new.note)
    except Refused as refusal:
        raise FollowUpError(
            str(refusal), field="last" if new.last < new.first or new.hours is None else "ends"
        ) from None
    hours = "closed" if new.hours is None else f"open {new.hours[0]:%H:%M} to {new.hours[1]:%H:%M}"
    log(practice, "days_changed", f"{new.first} to {new.last}: {hours}. {new.note}".strip(), now=now, staff=staff)


@transaction.atomic
def as_in_other_weeks(day: OpeningException, *, staff: Staff, now: dt.datetime) -> None:
    """The date is open as its weekday again."""
    log(day.practice, "days_changed", f"{day.date}: as in other weeks again", now=now, staff=staff)
    day.delete()


def people(practice: Practice) -> list[Membership]:
    """Who may be on call: everybody who works here."""
    here = Membership.objects.current().filter(practice=practice)
    return list(here.select_related("staff").order_by("staff__name", "pk"))


def _add(practice: Practice, new: NewShifts, found: Span, *, staff: Staff, now: dt.datetime) -> OnCallShift:
    _refuse_twice(practice, new.who, found, field="who")
    _refuse_same_place(practice, new.position, found)
    try:
        shift = put_on_call(
            practice, email=new.who.email, starts_at=found.starts, ends_at=found.ends, position=new.position
        )
    except Refused as refusal:
        raise FollowUpError(str(refusal), field="who") from None
    shift.media = list(new.media)
    shift.save(update_fields=["media"])
    log(practice, "rota_changed", f"added: {_words(shift)}", now=now, staff=staff, person=new.who.pk)
    return shift


def _refuse_media(who: Staff, media: Sequence[str]) -> None:
    if len(set(media)) != len(media) or not set(media) <= {value for value, _words in MEDIA}:
        raise FollowUpError("Choose one of these ways.", field="ways")
    if "sms" in media and not who.mobile:
        raise FollowUpError(
            f"No mobile number of {who.name} is on record, so no text message can be sent there. Choose e-mail only.",
            field="ways",
        )


def _refuse_stranger(practice: Practice, who: Staff, *, field: str) -> None:
    if not Membership.objects.current().filter(practice=practice, staff=who).exists():
        raise FollowUpError(f"{who.name} does not work here.", field=field)


def _refuse_twice(practice: Practice, who: Staff, found: Span, *, field: str, apart_from: Sequence[int] = ()) -> None:
    """Nobody is on call twice at once: he would count as two people."""
    same = OnCallShift.objects.between(practice, found.starts, found.ends).filter(staff=who).exclude(pk__in=apart_from)
    there = same.first()
    if there is not None:
        raise FollowUpError(
            f"{who.name} is on call then already: {from_to(_span_of(there), practice.zone)}.", field=field
        )


def _refuse_same_place(practice: Practice, position: int, found: Span) -> None:
    """Of two who are called first at once, nobody knows who is."""
    there = OnCallShift.objects.between(practice, found.starts, found.ends).filter(position=position).first()
    if there is not None:
        when = from_to(_span_of(there), practice.zone)
        raise FollowUpError(
            f"{there.staff.name} has this place then already, {when}. Choose another.", field="position"
        )


def _words(shift: OnCallShift) -> str:
    return f"{shift.staff} {from_to(_span_of(shift), shift.practice.zone)}"


def _span_of(shift: OnCallShift) -> Span:
    return Span(shift.starts_at.astimezone(dt.UTC), shift.ends_at.astimezone(dt.UTC))
