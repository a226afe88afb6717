"""What the owner is told to do about one dose, at once: give it now, or skip it, and when the next one is.

Source of the rule: clinical defaults, 8, "Late dose" (C). Never double.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from django.utils.translation import gettext as _

from followup.domain.late_dose import UNTOUCHED, Give, WhatNow, what_now
from followup.domain.terms import DoseOutcome
from followup.models import Dose, Plan
from followup.services.advice import told_time
from followup.services.dose_rows import medicine_of
from followup.services.facts import hours_of


@dataclass(frozen=True)
class DoseAnswer:
    """`heading` is one instruction, `sentences` what goes with it. `may_give`: it can still be given."""

    heading: str
    sentences: tuple[str, ...]
    may_give: bool = False


def answer_before(plan: Plan, row: Dose, *, now: dt.datetime) -> DoseAnswer:
    """What to do with a dose that nobody has told of yet: the owner asks, nothing is written."""
    if row.held:
        return _held(row)
    decided = _decide(plan, row, now)
    headings = {
        Give.NOW: _("Give it now: %(amount)s"),
        Give.SKIP: _("Skip this dose"),
        Give.NOT_YET: _("Wait until %(not_before)s"),
    }
    words = _words(plan, row, decided, now)
    again = _("Give it until %(until)s at the latest; later than that, skip it. Never a double dose.")
    sentences = [again % words] if decided.give is Give.NOW else []
    if decided.give is Give.SKIP:
        sentences = [_("It is too late for it: the next one would come too soon. Never a double dose.")]
    return DoseAnswer(
        headings[decided.give] % words,
        (*sentences, *_next(decided, words)),
        may_give=decided.give is Give.NOW,
    )


def answer_after(plan: Plan, row: Dose, *, now: dt.datetime) -> DoseAnswer:
    """What to do now that it was told what became of it."""
    if row.held or row.outcome == DoseOutcome.WENT_WRONG:
        return _held(row)
    decided = _decide(plan, row, now)
    words = _words(plan, row, decided, now)
    if row.outcome == DoseOutcome.GIVEN:
        return DoseAnswer(_("Thank you, that is written down"), _next(decided, words))
    if row.outcome in UNTOUCHED:
        return _not_given(decided, words)
    half = _("Nobody knows how much of it went in. Never a double dose.")
    return DoseAnswer(_("Do not give it again"), (half, *_next(decided, words)))


def _not_given(decided: WhatNow, words: dict[str, str]) -> DoseAnswer:
    if decided.give is not Give.NOW:
        return DoseAnswer(_("Skip this dose"), (_("Never a double dose."), *_next(decided, words)))
    how = _("In food that %(patient)s likes, or in two small portions. Later than that, skip it.") % words
    return DoseAnswer(_("You can try again until %(until)s") % words, (how,), may_give=True)


def _decide(plan: Plan, row: Dose, now: dt.datetime) -> WhatNow:
    return what_now(medicine_of(plan, row.drug), row.number, hours_of(plan), now)


def _held(row: Dose) -> DoseAnswer:
    waits = _("A vet decides how it goes on. Until then give no more %(drug)s.") % {"drug": row.drug}
    return DoseAnswer(_("Phone us before you give any more of it"), (waits,))


def _words(plan: Plan, row: Dose, decided: WhatNow, now: dt.datetime) -> dict[str, str]:
    hours = hours_of(plan)
    return {
        "amount": f"{row.amount} {row.drug}",
        "patient": plan.patient.name,
        "until": told_time(decided.until, hours, now=now),
        "not_before": told_time(decided.not_before, hours, now=now),
        "next": "" if decided.next_at is None else told_time(decided.next_at, hours, now=now),
    }


def _next(decided: WhatNow, words: dict[str, str]) -> tuple[str, ...]:
    if decided.next_at is None:
        return (_("No other dose is planned."),)
    return (_("The next dose is %(next)s.") % words,)
