"""The patient comes home from a clinic: a new plan from now on, and the follow-up goes on."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, replace

from django.db import transaction

from clinic.models import Role, Staff, Weight
from followup.casefile import case_json, read_case
from followup.domain.case import Case
from followup.domain.changes import PlanChange, changes
from followup.domain.revising import Rules, Standing, Wanted, revise_plan
from followup.domain.terms import FollowUpError
from followup.models import CheckIn, Plan
from followup.protocols.load_formulary import formulary
from followup.services.dose_rows import became_of
from followup.services.draft import refuse_refused
from followup.services.facts import case_of, compiled_of, protocol_of
from followup.services.new_version import NewVersion, put_in_force
from followup.services.who_may import only

Json = dict[str, object]
TOLD = ("last_ate_before_discharge_at", "last_faeces_before_discharge_at", "last_urine_before_discharge_at")


class NotInAClinic(FollowUpError):
    """Nobody wrote down that this patient is in a clinic, or it has gone home already."""


@dataclass(frozen=True)
class Homecoming:
    """What is known when it goes home: `facts` in the case format, with the keys that this discharge sets.

    `discharged_at`, `patient.weight_g`, `given_in_clinic` (what was given during the stay), `last_*`, `discharge`, and
    `home_medication`: everything that it gets from now on; what is not in it is stopped.
    """

    facts: Json
    because: str


@dataclass(frozen=True)
class Rehearsal:
    """What the homecoming would make, and what it changes for the owner."""

    new: NewVersion
    change: PlanChange


def rehearse_homecoming(plan: Plan, coming: Homecoming, *, now: dt.datetime) -> Rehearsal:
    """What it would make. Writes nothing. Raises BadCase, NoSuchSyringe, NotInAClinic."""
    if plan.state != Plan.State.RUNNING or plan.paused != Plan.Pause.IN_HOSPITAL:
        raise NotInAClinic(f"{plan.patient} is not in a clinic, as far as anybody wrote down.")
    case, over = _case(plan, coming), became_of(plan, now=now)
    wanted = [Wanted(each) for each in case.home_medication or ()]
    before = compiled_of(plan)
    standing = Standing(before, max(now, case.discharged_at), over, asks_anew=True)
    compiled = revise_plan(case, wanted, standing, Rules(protocol_of(plan), formulary()))
    stopped = frozenset(each.drug for each in before.medication) - {each.asked.drug for each in wanted}
    new = NewVersion(case, compiled, coming.because.strip(), over, stopped)
    return Rehearsal(new, changes(before, compiled, new.past(now)))


@transaction.atomic
def home_again(plan: Plan, coming: Homecoming, *, staff: Staff, now: dt.datetime) -> Plan:
    """End the pause and put the new plan in force. A vet's step, so what needs a vet has one."""
    only(staff, plan.practice_id, Role.VET, step="A new plan for the way home")
    locked = Plan.objects.select_for_update().select_related("practice", "patient__owner", "protocol").get(pk=plan.pk)
    if not coming.because.strip():
        raise FollowUpError("Write what was done in the clinic.", field="because")
    found = rehearse_homecoming(locked, coming, now=now)
    refuse_refused(found.new.compiled, said="Nothing was changed.")
    case = found.new.case
    Weight.objects.create(
        patient=plan.patient, grams=round(case.patient.weight_g), at=case.discharged_at, recorded_by=staff
    )
    locked.check_ins.filter(state=CheckIn.State.PLANNED, at__lte=case.discharged_at).update(
        state=CheckIn.State.CANCELLED
    )
    Plan.objects.filter(pk=plan.pk).update(paused="", admitted_at=None, home_again_at=case.discharged_at)
    locked.refresh_from_db()
    put_in_force(locked, found.new, staff=staff, now=now)
    plan.tasks.open().filter(key__startswith=f"admitted:{plan.pk}:").update(
        done_at=now, done_by=staff, result="It has gone home."
    )
    plan.refresh_from_db()
    return plan


def _case(plan: Plan, coming: Homecoming) -> Case:
    """The case with what this discharge says in place of the first one's; what the clinic gave is added."""
    before = case_json(case_of(plan))
    given = {"given_in_clinic": [*_list(before, "given_in_clinic"), *_list(coming.facts, "given_in_clinic")]}
    known = given if "given_in_clinic" in before or "given_in_clinic" in coming.facts else {}
    patient = {**_table(before["patient"]), **_table(coming.facts.get("patient"))}
    kept = {key: value for key, value in before.items() if key not in TOLD or key in coming.facts}
    values = {**kept, **coming.facts, "patient": patient, **known}
    return replace(read_case(values), operated_on=plan.operated_on)


def _list(facts: Json, key: str) -> list[object]:
    value = facts.get(key)
    return list(value) if isinstance(value, (list, tuple)) else []


def _table(value: object) -> Mapping[str, object]:
    return value if isinstance(value, dict) else {}
