"""Which drugs are at work in the animal at a moment, as far as the plan tells.

A dose that is planned counts, whatever was reported of it: what a drug may explain or cause is never reasoned away by
an answer. Source: clinical defaults, 8, "Cover" (D).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from followup.domain.bounds import HOUR
from followup.domain.drug_groups import DrugGroup, is_a
from followup.domain.recovery import Recovery

NSAID_IN_CLINIC = 24 * HOUR
"""The clinic's NSAID works for a day."""


def at_work(recovery: Recovery, group: DrugGroup, moment: dt.datetime) -> bool:
    """Whether a drug of `group` was at work at `moment`: the clinic's for a day, one at home for its interval."""
    return any(began <= moment < ends for began, ends in _spans(recovery, group))


def _spans(recovery: Recovery, group: DrugGroup) -> Iterator[tuple[dt.datetime, dt.datetime]]:
    for given in recovery.case.given_in_clinic or ():
        if is_a(given.drug, group):
            yield given.at, given.at + NSAID_IN_CLINIC
    for medicine in recovery.medication:
        if is_a(medicine.drug, group) and medicine.every_hours is not None and not medicine.proposal:
            interval = float(medicine.every_hours) * HOUR
            yield from ((dose.at, dose.at + interval) for dose in medicine.doses)
            yield from ((at, at + interval) for _, at in recovery.dose_reports(medicine.drug))
