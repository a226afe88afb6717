"""A recovery as the front desk has written it down, and the plan that would be made of it. Writes nothing."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field

from clinic.models import Owner, Patient, Practice
from followup.casefile import read_case
from followup.casefile.case_in import WEEKDAYS
from followup.domain.case import Case
from followup.domain.compiled import CompiledPlan
from followup.domain.plan import compile_plan
from followup.domain.terms import FollowUpError, ProblemKind
from followup.models import ProtocolVersion
from followup.protocols.load import parse
from followup.protocols.load_formulary import formulary

Json = dict[str, object]
WAKES, SLEEPS = dt.time(7), dt.time(22)
"""Source: clinical defaults, 7."""


class NoProtocol(FollowUpError):
    """This practice has no protocol for this operation in this species."""


class PlanRefused(FollowUpError):
    """No plan can be made safely as it was asked for."""


@dataclass(frozen=True)
class NewOwner:
    """A person who is not on record yet. Phones are E.164 or empty; `away` has the shape of the case format."""

    name: str
    mobile: str = ""
    email: str = ""
    landline: str = ""
    language: str = "en"
    time_zone: str = "Europe/London"
    wakes: dt.time = WAKES
    sleeps: dt.time = SLEEPS
    away: tuple[Json, ...] = ()


@dataclass(frozen=True)
class NewPatient:
    """An animal that is not on record yet."""

    name: str
    species: str
    sex: str = "unknown"
    born_on: dt.date | None = None


@dataclass(frozen=True)
class NewRecovery:
    """Everything that one enrolment needs.

    `facts` is the case format without observations: procedure, times, `patient` with weight and cautions, what was
    given and prescribed, the card. Who the patient and the owner are is filled in from `owner` and `patient`.
    `key` is made by the form when it is first shown: the same form posted twice enrols once.
    """

    practice: Practice
    owner: Owner | NewOwner
    patient: Patient | NewPatient
    facts: Json
    key: str
    consents: dict[str, bool] = field(default_factory=dict)
    carer: Owner | NewOwner | None = None
    carer_is_second: bool = True


@dataclass(frozen=True)
class Draft:
    """What would be enrolled."""

    case: Case
    compiled: CompiledPlan
    version: ProtocolVersion


def draft(request: NewRecovery) -> Draft:
    """Read the facts and compile the plan. Raises BadCase, NoProtocol, NoSuchSyringe and NeverThere."""
    case = read_case(_whole_case(request))
    version = _version_for(request.practice, request.patient.species, str(case.procedure))
    compiled = compile_plan(
        case,
        parse(version.text),
        formulary(),
        approved=version.approved_at is not None,
        out_of_hours_known=request.practice.provider_for(request.patient.species) is not None,
    )
    return Draft(case, compiled, version)


def refuse_refused(compiled: CompiledPlan, *, said: str = "Not enrolled.") -> None:
    """Raise PlanRefused with every reason, when there is one. `said`: what therefore was not done."""
    reasons = [each for each in compiled.problems if each.kind is ProblemKind.REFUSED]
    if reasons:
        because = " ".join(each.message for each in reasons)
        raise PlanRefused(f"{said} {because}", field=reasons[0].path)


def _whole_case(request: NewRecovery) -> Json:
    """The facts, with who it is put in from the records."""
    owner, patient, facts = request.owner, request.patient, request.facts
    known = facts.get("patient")
    person: Json = {
        "name": patient.name,
        "species": patient.species,
        "sex": patient.sex,
        **(known if isinstance(known, dict) else {}),
    }
    if patient.born_on is not None:
        ended = dt.datetime.fromisoformat(str(facts["surgery_ended_at"])).date()
        person["age_months"] = round((ended - patient.born_on).days / 30.4375, 1)
    return {
        **facts,
        "patient": person,
        "time_zone": owner.time_zone,
        "owner_hours": hours_json(owner),
        "jurisdiction": request.practice.jurisdiction,
    }


def hours_json(owner: Owner | NewOwner) -> Json:
    """When somebody is awake and with the animal, as the case format has it."""
    hours: Json = {"wakes": f"{owner.wakes:%H:%M}", "sleeps": f"{owner.sleeps:%H:%M}"}
    return hours | ({"away": [_away(each) for each in owner.away]} if owner.away else {})


def _away(each: Json) -> Json:
    """An absence as the case format has it; days may be kept as names or as numbers from Monday."""
    days = each.get("days")
    listed = days if isinstance(days, list) else []
    return {**each, "days": [WEEKDAYS[day] if isinstance(day, int) else day for day in listed]}


def _version_for(practice: Practice, species: str, procedure: str) -> ProtocolVersion:
    """The newest approved version; where none is approved, the newest draft."""
    versions = practice.protocol_versions.filter(name=f"{species}_{procedure}").order_by("-version")
    found = versions.filter(approved_at__isnull=False).first() or versions.first()
    if found is None:
        raise NoProtocol(
            f"There is no protocol for a {procedure.replace('_', ' ')} of a {species.replace('_', ' ')} here yet.",
            field="procedure",
        )
    return found
