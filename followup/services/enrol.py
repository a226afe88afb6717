"""A recovery is enrolled: people and patient on record, the plan kept, and begun unless a vet must confirm it first."""

from __future__ import annotations

import datetime as dt

from django.db import transaction

from clinic.models import Patient, Practice, Staff
from followup.casefile import case_json, plan_json
from followup.domain.terms import FollowUpError
from followup.models import Event, Plan, Task
from followup.services.begin import begin
from followup.services.draft import Draft, NewRecovery, draft, refuse_refused
from followup.services.log import log
from followup.services.register import keep_carer, keep_consents, keep_weight, owner_row, patient_row

ENROLLED = "enrolled"


class AlreadyEnrolled(FollowUpError):
    """This patient is followed up for this operation; `plan` is where."""

    def __init__(self, plan: Plan) -> None:
        """Keep the plan beside the sentence."""
        super().__init__(
            f"{plan.patient} is enrolled already: {plan.get_procedure_display()} on {plan.operated_on:%d.%m.%Y}.",
            field="patient",
        )
        self.plan = plan


def rehearse(request: NewRecovery) -> Draft:
    """What enrolling would make, with every problem that stands against it. Writes nothing. Raises AlreadyEnrolled."""
    drafted = draft(request)
    if isinstance(request.patient, Patient):
        _refuse_enrolled(request.patient, drafted)
    return drafted


@transaction.atomic
def enrol(request: NewRecovery, *, staff: Staff, now: dt.datetime) -> Plan:
    """Everything or nothing. The same key again gives the same plan. Raises AlreadyEnrolled, PlanRefused, BadCase."""
    practice = Practice.objects.select_for_update().get(pk=request.practice.pk)  # two posts of one form wait here
    before = Event.objects.filter(practice=practice, what=ENROLLED, data__key=request.key).first()
    if before is not None and before.plan is not None:
        return before.plan
    drafted = draft(request)
    refuse_refused(drafted.compiled)
    owner = owner_row(practice, request.owner, now=now)
    patient = patient_row(owner, request.patient)
    _refuse_enrolled(patient, drafted)
    keep_weight(patient, drafted.case.patient.weight_g, at=drafted.case.discharged_at, staff=staff)
    keep_consents(owner, request.consents, staff=staff, now=now)
    keep_carer(request, patient, now=now)
    plan = _plan(patient, drafted, staff=staff, now=now)
    log(plan, ENROLLED, f"enrolled by {staff}", now=now, staff=staff, key=request.key)
    if drafted.compiled.needs_vet():
        _ask_a_vet(plan, drafted, now=now)
    else:
        begin(plan, staff=staff, now=now)
    return plan


def _refuse_enrolled(patient: Patient, drafted: Draft) -> None:
    same = Plan.objects.filter(
        patient=patient, procedure=drafted.case.procedure, operated_on=_operated_on(drafted)
    ).exclude(state=Plan.State.TAKEN_BACK)
    found = same.select_related("patient").first()
    if found is not None:
        raise AlreadyEnrolled(found)


def _operated_on(drafted: Draft) -> dt.date:
    """The owner's calendar day of the operation; day 0 of the plan."""
    return drafted.case.hours.local(drafted.case.surgery_ended_at).date()


def _plan(patient: Patient, drafted: Draft, *, staff: Staff, now: dt.datetime) -> Plan:
    case = drafted.case
    return Plan.objects.create(
        practice_id=patient.practice_id,
        patient=patient,
        procedure=case.procedure,
        operated_on=_operated_on(drafted),
        protocol=drafted.version,
        case=case_json(case),
        compiled=plan_json(drafted.compiled, case.hours.zone),
        state=Plan.State.WAITING_FOR_VET,
        surgery_ended_at=case.surgery_ended_at,
        discharged_at=case.discharged_at,
        sign_off_at=drafted.compiled.sign_off_at,
        enrolled_by=staff,
        enrolled_at=now,
    )


def _ask_a_vet(plan: Plan, drafted: Draft, *, now: dt.datetime) -> None:
    reasons = [each.message for each in drafted.compiled.problems if each.kind == "needs_vet"]
    Task.objects.create(
        practice_id=plan.practice_id,
        plan=plan,
        kind=Task.Kind.CONFIRM_PLAN,
        key=f"confirm:{plan.pk}",
        text=f"Confirm the plan of {plan.patient}: {' '.join(reasons)}",
        due_at=now,
        made_at=now,
    )
