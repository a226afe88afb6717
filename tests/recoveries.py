"""Invented recoveries to start a story from: one guinea pig, one rabbit."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from zoneinfo import ZoneInfo

from followup.domain.case import Case, GivenInClinic, Patient, Prescription
from followup.domain.compiled import CompiledPlan
from followup.domain.hours import OwnerHours
from followup.domain.medicines import Prescribed, prescribe
from followup.domain.plan import compile_plan
from followup.domain.script import Script
from followup.domain.terms import ClinicRoute, ProblemKind, Procedure, Sex, Species
from followup.protocols.load import load
from followup.protocols.load_formulary import formulary

LONDON = ZoneInfo("Europe/London")
SURGERY_DAY = dt.date(2025, 3, 10)


def at(text: str, zone: ZoneInfo = LONDON) -> dt.datetime:
    """An instant from the owner's clock: '2025-03-10 18:30'."""
    return dt.datetime.fromisoformat(text).replace(tzinfo=zone).astimezone(dt.UTC)


def clock(moment: dt.datetime, zone: ZoneInfo = LONDON) -> str:
    """An instant as the owner's clock shows it: '03-10 18:30'."""
    return f"{moment.astimezone(zone):%m-%d %H:%M}"


MELOXICAM_IN_CLINIC = GivenInClinic("meloxicam", at("2025-03-10 10:00"), mg_per_kg=0.2, route=ClinicRoute.SC)


def guinea_pig(weight_g: float = 900, **changes) -> Case:
    """A boar castrated at 10:30, home at 16:30, seen eating at 15:00."""
    case = Case(
        patient=Patient(Species.GUINEA_PIG, weight_g, name="Pip", sex=Sex.MALE, age_months=8),
        procedure=Procedure.CASTRATION,
        surgery_ended_at=at("2025-03-10 10:30"),
        discharged_at=at("2025-03-10 16:30"),
        hours=OwnerHours(LONDON),
        given_in_clinic=(MELOXICAM_IN_CLINIC,),
        last_ate_before_discharge_at=at("2025-03-10 15:00"),
        last_faeces_before_discharge_at=at("2025-03-10 14:00"),
    )
    return replace(case, **changes)


def rabbit(weight_g: float = 2400, **changes) -> Case:
    """A doe spayed at 11:00, home at 17:00, seen eating hay at 16:00."""
    case = Case(
        patient=Patient(Species.RABBIT, weight_g, name="Clover", sex=Sex.FEMALE, age_months=10),
        procedure=Procedure.SPAY,
        surgery_ended_at=at("2025-03-10 11:00"),
        discharged_at=at("2025-03-10 17:00"),
        hours=OwnerHours(LONDON),
        given_in_clinic=(MELOXICAM_IN_CLINIC,),
        last_ate_before_discharge_at=at("2025-03-10 16:00"),
    )
    return replace(case, **changes)


def meloxicam(mg_per_kg: float | None = 0.1, **changes) -> Prescription:
    """Two days of the 0.5 mg/ml liquid, once a day."""
    asked = Prescription(
        "meloxicam",
        every_hours=24,
        days=2,
        mg_per_kg=mg_per_kg,
        mg_per_ml=0.5,
        off_label_explained=True,
    )
    return replace(asked, **changes)


def prescribed(asked: Prescription, case: Case | None = None) -> Prescribed:
    """One prescription, checked and timed; for the guinea pig where no case is given."""
    return prescribe(Script(asked, "$.home_medication[0]", case or guinea_pig(), formulary()))


def plan_of(case: Case, **about_the_practice: bool) -> CompiledPlan:
    """The plan of a case, by the protocol that ships for it."""
    name = f"{case.patient.species}_{case.procedure}"
    return compile_plan(case, load(name), formulary(), **about_the_practice)


def found(problems, kind: ProblemKind) -> list[str]:
    """The paths of the problems of one kind."""
    return [problem.path for problem in problems if problem.kind is kind]
