"""Which drugs are at work in the animal at a moment, as far as the plan tells.

A dose that is planned counts, whatever was reported of it: what a drug may explain or cause is never reasoned away by
an answer. Source: clinical defaults, 8, "Cover" (D).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from followup.domain.bounds import HOUR
from followup.domain.cover import NSAID_IN_CLINIC
from followup.domain.drug_groups import DrugGroup, is_a
from followup.domain.medicine_rules import MISSED
from followup.domain.mishaps import dose_meant
from followup.domain.recovery import Recovery
from followup.domain.terms import Formulation

LASTS = {Formulation.STANDARD: 0 * HOUR, Formulation.HOURS_24: 24 * HOUR, Formulation.SLOW_RELEASE: 72 * HOUR}
"""How long a product goes on giving. Source: clinical defaults, 8, "Cover" (P)."""


def at_work(recovery: Recovery, group: DrugGroup, moment: dt.datetime) -> bool:
    """Whether a drug of `group` was at work at `moment`: the clinic's for a day, one at home for its interval."""
    return any(began <= moment < ends for began, ends in _spans(recovery, group))


@dataclass(frozen=True)
class Given:
    """One drug in the animal: since when, and how that is known. `lasts`: what a slow product adds to its effects."""

    drug: str
    at: dt.datetime
    how: str
    lasts: dt.timedelta = dt.timedelta(0)


def given_by(recovery: Recovery, moment: dt.datetime) -> tuple[Given, ...]:
    """What had been given by `moment`, the newest first, to be named beside what it can explain.

    A planned dose that nobody has told of is named as such; one that was told of as not taken is left out.
    """
    found = [
        Given(each.drug, each.at, "in the clinic", LASTS[each.formulation])
        for each in recovery.case.given_in_clinic or ()
    ]
    found += _at_home(recovery)
    return tuple(sorted((each for each in found if each.at <= moment), key=lambda each: each.at, reverse=True))


def _at_home(recovery: Recovery) -> Iterator[Given]:
    for medicine in recovery.medication:
        reports = recovery.dose_reports(medicine.drug)
        yield from (Given(medicine.drug, at, "at home") for report, at in reports if report.outcome not in MISSED)
        told = {dose.number for _, at in reports if (dose := dose_meant(medicine, at)) is not None}
        if not medicine.proposal:
            untold = (dose for dose in medicine.doses if dose.number not in told)
            yield from (Given(medicine.drug, dose.at, "planned, not told of") for dose in untold)


def _spans(recovery: Recovery, group: DrugGroup) -> Iterator[tuple[dt.datetime, dt.datetime]]:
    for given in recovery.case.given_in_clinic or ():
        if is_a(given.drug, group):
            yield given.at, given.at + NSAID_IN_CLINIC
    for medicine in recovery.medication:
        if is_a(medicine.drug, group) and medicine.every_hours is not None and not medicine.proposal:
            interval = float(medicine.every_hours) * HOUR
            yield from ((dose.at, dose.at + interval) for dose in medicine.doses)
            yield from ((at, at + interval) for _, at in recovery.dose_reports(medicine.drug))
