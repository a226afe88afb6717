"""A plan that changes while it runs: the past stays as it was, and only what is to come is worked out anew.

Source: clinical defaults, 8 (times, spacing, limits) and 7 (check-ins); what counts as past is ours (D).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from followup.domain.agreed import with_agreed
from followup.domain.case import Case, GivenInClinic, Prescription
from followup.domain.check_in_times import APART
from followup.domain.compiled import CompiledPlan, Medicine, PlannedCheckIn, PlannedDose, Problem
from followup.domain.cover import cover_of
from followup.domain.formulary import Formulary
from followup.domain.medicines import Prescribed, prescribe
from followup.domain.plan import in_utc, plan_around, planned_check_ins
from followup.domain.protocol import Protocol
from followup.domain.script import GoesOn, Script
from followup.domain.side_by_side import side_by_side
from followup.domain.terms import ClinicRoute

PATH = "$.home_medication"


@dataclass(frozen=True)
class Wanted:
    """One medicine as it is to go on. `doses`: how many are to come; None: as many as the days ask for.

    `keeps_times`: drug and interval stay, so the next dose comes when it was planned.
    """

    asked: Prescription
    keeps_times: bool = False
    doses: int | None = None


@dataclass(frozen=True)
class Standing:
    """What stands at `now`, when a plan is changed.

    `over`: drug and number of the doses that stay as they are, because somebody told of them or their time has come,
    each with when it may have been taken; None: it was not. One that nobody told of may have been: the safe side.
    `asks_anew`: the owner's hours have changed, or the patient comes home again, so the check-ins to come are new.
    """

    before: CompiledPlan
    now: dt.datetime
    over: Mapping[tuple[str, int], dt.datetime | None] = field(default_factory=dict)
    asks_anew: bool = False

    def taken(self) -> tuple[GivenInClinic, ...]:
        """The doses at home that may have been taken, as if they had been given in the clinic."""
        return tuple(
            GivenInClinic(each.drug, at, _per_kg(dose), ClinicRoute.PO)
            for each in self.before.medication
            for dose in each.doses
            if (at := self.over.get((each.drug, dose.number))) is not None
        )


@dataclass(frozen=True)
class Rules:
    """What a plan is worked out from."""

    protocol: Protocol
    formulary: Formulary


def revise_plan(case: Case, wanted: Sequence[Wanted], standing: Standing, rules: Rules) -> CompiledPlan:
    """The plan from now on, around `wanted`, with its past. `case` holds what has changed.

    A medicine that is not wanted any more keeps the doses that are over. Raises NoSuchSyringe and NeverThere.
    """
    case = in_utc(case)
    formulary = with_agreed(rules.formulary, case.patient.species, rules.protocol.agreed)
    found = _prescribed(case, wanted, standing, formulary)
    medicines = _joined([each.medicine for each in found], standing)
    problems = tuple(problem for each in found for problem in each.problems)
    plan = plan_around(medicines, problems, case=case, protocol=rules.protocol, formulary=rules.formulary)
    return replace(
        plan,
        cover=cover_of(case, as_taken(medicines, standing.over), rules.formulary),
        check_ins=_check_ins(case, standing, rules.protocol),
    )


def new_problems(before: CompiledPlan, after: CompiledPlan) -> tuple[Problem, ...]:
    """What stands against the plan now and did not before: a vet has dealt with the rest."""
    known = {(each.kind, each.message) for each in before.problems}
    return tuple(each for each in after.problems if (each.kind, each.message) not in known)


def _prescribed(
    case: Case, wanted: Sequence[Wanted], standing: Standing, formulary: Formulary
) -> tuple[Prescribed, ...]:
    """Each medicine from now on. What was had at home counts as given: for spacing, loading, the length of a course."""
    given, taken = case.given_in_clinic, standing.taken()
    had = replace(
        case,
        discharged_at=max(case.discharged_at, standing.now),
        given_in_clinic=given if given is None and not taken else (*(given or ()), *taken),
    )
    scripts = [
        Script(each.asked, f"{PATH}[{index}]", had, formulary, goes_on=_goes_on(each, standing))
        for index, each in enumerate(wanted)
    ]
    beside = side_by_side(scripts)
    return tuple(prescribe(script, beside[script.path]) for script in scripts)


def _goes_on(wanted: Wanted, standing: Standing) -> GoesOn | None:
    old = _by_drug(standing.before.medication).get(wanted.asked.drug)
    if old is None:
        return None
    to_come = [dose for dose in old.doses if (old.drug, dose.number) not in standing.over]
    taken = [each.at for each in standing.taken() if each.drug == old.drug]
    following = min(to_come, key=lambda dose: dose.at) if wanted.keeps_times and to_come else None
    return GoesOn(last=max(taken, default=None), following=following, count=wanted.doses)


def _joined(new: Iterable[Medicine], standing: Standing) -> tuple[Medicine, ...]:
    """Each medicine once: its doses that are over, then those to come, numbered on."""
    fresh = _by_drug(new)
    stopped = [
        replace(each, doses=_over(each, standing)) for each in standing.before.medication if each.drug not in fresh
    ]
    going_on = [replace(each, doses=_numbered_on(_past(each.drug, standing), each.doses)) for each in fresh.values()]
    return (*going_on, *(each for each in stopped if each.doses))


def _past(drug: str, standing: Standing) -> tuple[PlannedDose, ...]:
    old = _by_drug(standing.before.medication).get(drug)
    return _over(old, standing) if old is not None else ()


def _over(medicine: Medicine, standing: Standing) -> tuple[PlannedDose, ...]:
    return tuple(dose for dose in medicine.doses if (medicine.drug, dose.number) in standing.over)


def _numbered_on(past: Sequence[PlannedDose], doses: Sequence[PlannedDose]) -> tuple[PlannedDose, ...]:
    last = max((dose.number for dose in past), default=0)
    return (*past, *(replace(dose, number=last + dose.number) for dose in doses))


def as_taken(medicines: Sequence[Medicine], over: Mapping[tuple[str, int], dt.datetime | None]) -> tuple[Medicine, ...]:
    """The medicines with each dose when it was taken, and without those that were not: they cover nothing."""
    return tuple(
        replace(
            each,
            doses=tuple(
                replace(dose, at=at)
                for dose in each.doses
                if (at := over.get((each.drug, dose.number), dose.at)) is not None
            ),
        )
        for each in medicines
    )


def _per_kg(dose: PlannedDose) -> float | None:
    return None if dose.mg_per_kg_delivered is None else float(dose.mg_per_kg_delivered)


def _check_ins(case: Case, standing: Standing, protocol: Protocol) -> tuple[PlannedCheckIn, ...]:
    """Those that were asked stay; those to come are as before, or new where the owner's day has changed."""
    if not standing.asks_anew:
        return standing.before.check_ins
    asked = [each for each in standing.before.check_ins if each.at <= standing.now]
    been = {(each.day, each.kind) for each in asked}
    free_from = max((each.at + APART for each in asked), default=standing.now)
    to_come = [
        each
        for each in planned_check_ins(case, protocol.course)
        if each.at > standing.now and each.at >= free_from and (each.day, each.kind) not in been
    ]
    return (*asked, *to_come)


def _by_drug(medicines: Iterable[Medicine]) -> Mapping[str, Medicine]:
    return {each.drug: each for each in medicines}
