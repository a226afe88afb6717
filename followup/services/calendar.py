"""A calendar of the recovery to tick off: each day with its doses, looks and dates, on the owner's clock."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from followup.domain.case import Case
from followup.domain.compiled import CompiledPlan
from followup.domain.hours import DAY
from followup.models import Dose
from followup.services.plan_words import restriction_words


@dataclass(frozen=True)
class Box:
    """Something to tick off: when, and what; `done` says what became of it, or what must come first."""

    when: str
    what: str
    done: str = ""


@dataclass(frozen=True)
class CalendarDay:
    """One day of the recovery. `looks` are check-ins: we write, and he looks whether we write or not."""

    day: int
    date: str
    doses: tuple[Box, ...]
    looks: tuple[Box, ...]
    notes: tuple[str, ...]


def calendar_of(case: Case, compiled: CompiledPlan, rows: Iterable[Dose]) -> tuple[CalendarDay, ...]:
    """Every day from the discharge to the end of the follow-up, or to the last dose where that is later."""
    doses = sorted(rows, key=lambda row: (row.at, row.pk))
    first = case.day(case.discharged_at)
    last = max(case.day(compiled.sign_off_at), *(case.day(row.at) for row in doses), first)
    return tuple(_day(number, case, compiled, doses) for number in range(first, last + 1))


def _day(number: int, case: Case, compiled: CompiledPlan, doses: list[Dose]) -> CalendarDay:
    return CalendarDay(
        day=number,
        date=date_format(case.day_0 + number * DAY, "D j M"),
        doses=tuple(_dose(row, case) for row in doses if case.day(row.at) == number),
        looks=tuple(
            Box(_clock(case, each.at), _("look")) for each in compiled.check_ins if case.day(each.at) == number
        ),
        notes=tuple(_notes(number, case, compiled)),
    )


def _dose(row: Dose, case: Case) -> Box:
    held = _("phone us first") if row.held else ""
    return Box(_clock(case, row.at), f"{row.amount} {row.drug}", row.get_outcome_display() if row.outcome else held)


def _notes(number: int, case: Case, compiled: CompiledPlan) -> Iterator[str]:
    if any(each.day == number for each in compiled.wound_reviews):
        yield _("photo of the wound, or come in")
    if case.day(compiled.sign_off_at) == number:
        yield _("last look: the follow-up ends")
    for each in compiled.restrictions:
        if case.day(each.until) == number:
            yield _("until today: %(what)s") % {"what": restriction_words(each.what)}
    card = case.discharge
    if card.stitches_out_on is not None and card.stitches_out_on == case.day_0 + number * DAY:
        yield _("stitches come out")


def _clock(case: Case, moment: dt.datetime) -> str:
    return f"{case.hours.local(moment):%H:%M}"
