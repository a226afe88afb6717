"""A running plan is changed: another weight, a medicine changed, stopped, added or given for longer."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from django.db import transaction

from clinic.models import Role, Staff, Weight
from followup.casefile import case_json, read_case
from followup.domain.case import Case, Prescription
from followup.domain.changes import PlanChange, changes
from followup.domain.compiled import CompiledPlan, Problem
from followup.domain.exact import decimal, exact
from followup.domain.revising import Rules, Standing, Wanted, new_problems, revise_plan
from followup.domain.terms import FollowUpError, ProblemKind
from followup.models import Plan
from followup.protocols.load_formulary import formulary
from followup.services.dose_rows import Key, became_of
from followup.services.draft import refuse_refused
from followup.services.facts import case_of, compiled_of, protocol_of
from followup.services.going_on import doses_to_come, kept
from followup.services.new_version import NewVersion, put_in_force
from followup.services.who_may import only

Json = dict[str, object]


class CannotBeRevised(FollowUpError):
    """This plan does not run, or nothing would change."""


@dataclass(frozen=True)
class Revision:
    """What is to change. A medicine of the plan that is neither kept nor changed is stopped.

    `keeps`: drug and how many doses are still to come; None: as planned. `medicines`: changed and new ones, in the
    shape of `home_medication`. `weight_g`: what doses are reckoned from now on; `corrects`: it is what the patient
    weighed at discharge, which was written down wrongly. `version`: the version that the page showed.
    """

    because: str
    version: int
    keeps: Mapping[str, int | None] = field(default_factory=dict)
    medicines: tuple[Json, ...] = ()
    weight_g: float | None = None
    corrects: bool = False


@dataclass(frozen=True)
class Rehearsal:
    """What a revision would make. `problems`: those that did not stand against the plan before."""

    new: NewVersion
    before: CompiledPlan
    problems: tuple[Problem, ...]
    change: PlanChange

    def needs_vet(self) -> bool:
        """Whether only a vet may make this change."""
        return any(each.kind is ProblemKind.NEEDS_VET for each in self.problems)


def rehearse_revision(plan: Plan, revision: Revision, *, now: dt.datetime) -> Rehearsal:
    """What it would make, with every new problem. Writes nothing. Raises BadCase, NoSuchSyringe, CannotBeRevised."""
    _refuse(plan, revision)
    case, over = _case(plan, revision), became_of(plan, now=now)
    wanted = wanted_of(plan, revision, over)
    case = replace(case, home_medication=tuple(each.asked for each in wanted))
    before = compiled_of(plan)
    compiled = revise_plan(case, wanted, Standing(before, now, over), Rules(protocol_of(plan), formulary()))
    stopped = frozenset(each.drug for each in before.medication) - {each.asked.drug for each in wanted}
    new = NewVersion(case, compiled, revision.because.strip(), over, stopped - set(revision.keeps))
    return Rehearsal(new, before, new_problems(before, compiled), changes(before, compiled, new.past(now)))


@transaction.atomic
def revise(plan: Plan, revision: Revision, *, staff: Staff, now: dt.datetime) -> Plan:
    """Put the change in force. Raises NotYours, PlanRefused, CannotBeRevised and what `rehearse_revision` raises."""
    locked = Plan.objects.select_for_update().select_related("practice", "patient__owner", "protocol").get(pk=plan.pk)
    found = rehearse_revision(locked, revision, now=now)
    refuse_refused(found.new.compiled, said="Nothing was changed.")
    only(staff, plan.practice_id, *_who(revision, found), step="Changing a plan like this")
    if revision.weight_g is not None:
        Weight.objects.create(patient=plan.patient, grams=round(revision.weight_g), at=now, recorded_by=staff)
    put_in_force(locked, found.new, staff=staff, now=now)
    plan.refresh_from_db()
    return plan


def wanted_of(plan: Plan, revision: Revision, over: Mapping[Key, object]) -> list[Wanted]:
    """The medicines that go on, each as it is to go on; the changed and new ones first, in their order."""
    to_come = doses_to_come(plan, over)
    every = {each.drug: each.every_hours for each in compiled_of(plan).medication}
    changed = [
        Wanted(asked, keeps_times=asked.drug in to_come and every[asked.drug] == decimal(exact(asked.every_hours)))
        for asked in _prescriptions(plan, revision)
    ]
    return [*changed, *kept(plan, over, revision.keeps)]


def _refuse(plan: Plan, revision: Revision) -> None:
    if plan.state != Plan.State.RUNNING:
        raise CannotBeRevised(f"The follow-up of {plan.patient} does not run: there is nothing to change.")
    if plan.paused == Plan.Pause.IN_HOSPITAL:
        raise CannotBeRevised(f"{plan.patient} is in a clinic: write the new plan when it goes home.")
    if plan.version != revision.version:
        raise CannotBeRevised(
            f"Somebody changed this plan meanwhile: it is version {plan.version} now. Look at it, then change it."
        )
    if not revision.because.strip():
        raise CannotBeRevised("Write why the plan changes.", field="because")


def _case(plan: Plan, revision: Revision) -> Case:
    case = case_of(plan)
    if revision.weight_g is None:
        return case
    if revision.corrects:
        return replace(case, patient=replace(case.patient, weight_g=revision.weight_g), dosing_weight_g=None)
    return replace(case, dosing_weight_g=revision.weight_g)


def _prescriptions(plan: Plan, revision: Revision) -> tuple[Prescription, ...]:
    """The changed and new medicines, read as those of a case file are. Raises BadCase."""
    values = {**case_json(case_of(plan)), "home_medication": list(revision.medicines)}
    return read_case(values).home_medication or ()


def _who(revision: Revision, found: Rehearsal) -> tuple[Role, ...]:
    """A nurse may weigh anew; whatever else changes a medicine, or needs a vet, is a vet's."""
    same = not revision.medicines and all(doses is None for doses in revision.keeps.values())
    all_kept = {each.drug for each in found.before.medication} <= set(revision.keeps)
    return (Role.VET, Role.NURSE) if same and all_kept and not found.needs_vet() else (Role.VET,)
