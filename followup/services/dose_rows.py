"""The rows of doses beside what was computed: made from it, read for what has become of each, and moved with it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterator
from dataclasses import replace

from followup.casefile import plan_json
from followup.domain.compiled import CompiledPlan, Medicine, PlannedDose
from followup.domain.cover import cover_of
from followup.domain.dose_words import amount_in_words, strength_in_words
from followup.domain.late_dose import UNTOUCHED
from followup.domain.revising import as_taken
from followup.domain.terms import DoseOutcome
from followup.models import Dose, Plan
from followup.protocols.load_formulary import formulary
from followup.services.facts import case_of, compiled_of

Key = tuple[str, int]
"""Drug and number of a dose."""


def rows_of(plan: Plan, compiled: CompiledPlan, *, now: dt.datetime, without: Collection[Key] = ()) -> Iterator[Dose]:
    """One row a dose, not saved; one whose time is over already is never asked for."""
    for medicine in compiled.medication:
        for dose in medicine.doses:
            if (medicine.drug, dose.number) not in without:
                yield _row(plan, medicine, dose, now=now)


def became_of(plan: Plan, *, now: dt.datetime) -> dict[Key, dt.datetime | None]:
    """Every dose that is over, with when it may have been taken; None: it was told not to have been.

    A dose is over when it was told of, or when its time has come, also where it is asked for no more; while the patient
    is in a clinic nobody at home gives one, so those of the stay are not.
    """
    until = min(now, plan.admitted_at or now)
    live = {(row.drug, row.number): row for row in plan.doses.exclude(state=Dose.State.CANCELLED)}
    found: dict[Key, dt.datetime | None] = {key: _taken_at(row) for key, row in live.items() if _is_over(row, until)}
    for medicine in compiled_of(plan).medication:
        for dose in medicine.doses:
            if (medicine.drug, dose.number) not in live and dose.at <= until:
                found[medicine.drug, dose.number] = dose.at  # by the sheet on paper it may have been given
    return found


def move_doses(plan: Plan, medicine: Medicine, *, now: dt.datetime) -> None:
    """Bring rows and plan in step with `medicine`, whose doses to come have other times. Inside a transaction."""
    for dose in medicine.doses:
        waiting = plan.doses.filter(drug=medicine.drug, number=dose.number, state=Dose.State.PLANNED)
        waiting.exclude(at=dose.at).update(
            at=dose.at, not_before=dose.not_before, give_until=dose.give_until, reminded_at=None
        )
    before = compiled_of(plan)
    medication = tuple(medicine if each.drug == medicine.drug else each for each in before.medication)
    keep(plan, with_medication(plan, before, medication, now=now))


def with_medication(
    plan: Plan, before: CompiledPlan, medication: tuple[Medicine, ...], *, now: dt.datetime
) -> CompiledPlan:
    """The plan around `medication`, its cover by the doses that were taken."""
    taken = as_taken(medication, became_of(plan, now=now))
    return replace(before, medication=medication, cover=cover_of(case_of(plan), taken, formulary()))


def keep(plan: Plan, compiled: CompiledPlan) -> None:
    """Write what was computed into the plan's row."""
    plan.compiled = plan_json(compiled, case_of(plan).hours.zone)
    Plan.objects.filter(pk=plan.pk).update(compiled=plan.compiled)


def medicine_of(plan: Plan, drug: str) -> Medicine:
    """One medicine of the plan by its drug. Raises KeyError."""
    return {each.drug: each for each in compiled_of(plan).medication}[drug]


def _row(plan: Plan, medicine: Medicine, dose: PlannedDose, *, now: dt.datetime) -> Dose:
    return Dose(
        practice_id=plan.practice_id,
        plan=plan,
        drug=medicine.drug,
        number=dose.number,
        at=dose.at,
        not_before=dose.not_before,
        give_until=dose.give_until,
        amount=amount_in_words(dose),
        strength=strength_in_words(medicine),
        state=Dose.State.PLANNED if dose.give_until > now else Dose.State.CANCELLED,
    )


def _is_over(row: Dose, until: dt.datetime) -> bool:
    return row.state == Dose.State.REPORTED or row.at <= until or row.reminded_at is not None


def _taken_at(row: Dose) -> dt.datetime | None:
    if row.outcome and DoseOutcome(row.outcome) in UNTOUCHED:
        return None
    return row.given_at or row.at
