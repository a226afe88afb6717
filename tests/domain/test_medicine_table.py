"""Every row of the table of medicines, at each of its limits. Source: clinical defaults, 8 (marks: formulary.toml)."""

from __future__ import annotations

from dataclasses import replace

import pytest

from followup.domain.case import Case, GivenInClinic, Patient, Prescription
from followup.domain.plan import compile_plan
from followup.domain.terms import (
    ClinicRoute,
    Jurisdiction,
    ProblemKind,
    Procedure,
    Sex,
    Species,
)
from followup.protocols.load import load
from followup.protocols.load_formulary import formulary
from tests.recoveries import at, found, guinea_pig, meloxicam, prescribed

REFUSED, NEEDS_VET, WARNING = ProblemKind.REFUSED, ProblemKind.NEEDS_VET, ProblemKind.WARNING
GRAMS = {"guinea_pig": 900, "rabbit": 2400, "cat": 4000, "dog": 12000, "ferret": 1100, "rat": 400}


def patient(species: str, *, grams: float = 0, age_months: float | None = 24, **changes) -> Case:
    """An adult spayed that morning, whom the clinic gave this drug at 10:00, unless said otherwise."""
    case = guinea_pig(
        patient=Patient(Species(species), grams or GRAMS[species], sex=Sex.FEMALE, age_months=age_months),
        procedure=Procedure.SPAY,
    )
    return replace(case, **changes)


def clinic(drug: str, mg_per_kg: float | None = None) -> tuple[GivenInClinic, ...]:
    return (GivenInClinic(drug, at("2025-03-10 10:00"), mg_per_kg, ClinicRoute.SC),)


def asked(drug: str, mg_per_kg: float, *, every: float = 24, days: int = 1, **changes) -> Prescription:
    strength = {"meloxicam": 1.5, "carprofen": 50, "robenacoxib": 10}.get(drug, 10)
    return meloxicam(mg_per_kg, drug=drug, every_hours=every, days=days, mg_per_ml=strength, **changes)


def kinds(asked_for: Prescription, case: Case, path: str = "mg_per_kg") -> set[ProblemKind]:
    problems = prescribed(asked_for, case).problems
    return {each.kind for each in problems if each.path == f"$.home_medication[0].{path}"}


AMOUNTS = [
    # species, drug, every, mg/kg a dose, what stands against the amount
    ("guinea_pig", "meloxicam", 24, 0.1, set()),
    ("guinea_pig", "meloxicam", 24, 0.101, {WARNING}),
    ("guinea_pig", "meloxicam", 12, 0.06, {WARNING}),  # 0.12 a day
    ("guinea_pig", "meloxicam", 24, 0.6, {WARNING}),
    ("guinea_pig", "meloxicam", 24, 0.601, {WARNING, NEEDS_VET}),
    ("guinea_pig", "meloxicam", 24, 2.0, {WARNING, NEEDS_VET}),
    ("guinea_pig", "meloxicam", 24, 2.001, {WARNING, NEEDS_VET, REFUSED}),
    ("rabbit", "meloxicam", 24, 0.299, {WARNING}),
    ("rabbit", "meloxicam", 24, 0.3, set()),
    ("rabbit", "meloxicam", 24, 1.5, set()),
    ("rabbit", "meloxicam", 24, 1.501, {WARNING}),
    ("rabbit", "meloxicam", 12, 1.0, {WARNING}),  # 2 a day
    ("rabbit", "meloxicam", 24, 2.001, {WARNING, NEEDS_VET}),
    ("rabbit", "meloxicam", 24, 3.0, {WARNING, NEEDS_VET}),
    ("rabbit", "meloxicam", 24, 3.001, {WARNING, NEEDS_VET, REFUSED}),
    ("cat", "meloxicam", 24, 0.05, set()),
    ("cat", "meloxicam", 24, 0.051, {WARNING}),
    ("cat", "meloxicam", 24, 0.1, {WARNING}),
    ("cat", "meloxicam", 24, 0.101, {WARNING, NEEDS_VET}),
    ("cat", "meloxicam", 24, 0.3, {WARNING, NEEDS_VET}),
    ("cat", "meloxicam", 24, 0.301, {WARNING, NEEDS_VET, REFUSED}),
    ("dog", "meloxicam", 24, 0.1, set()),
    ("dog", "meloxicam", 24, 0.101, {WARNING}),
    ("dog", "meloxicam", 24, 0.2, {WARNING}),
    ("dog", "meloxicam", 24, 0.201, {WARNING, NEEDS_VET}),
    ("dog", "meloxicam", 24, 0.5, {WARNING, NEEDS_VET}),
    ("dog", "meloxicam", 24, 0.501, {WARNING, NEEDS_VET, REFUSED}),
    ("ferret", "meloxicam", 24, 0.3, set()),
    ("ferret", "meloxicam", 24, 0.301, {WARNING}),
    ("rat", "meloxicam", 24, 2.0, set()),
    ("rat", "meloxicam", 24, 2.01, {WARNING}),
    ("dog", "carprofen", 24, 4.4, set()),
    ("dog", "carprofen", 12, 2, set()),
    ("dog", "carprofen", 24, 4.41, {NEEDS_VET}),
    ("dog", "carprofen", 12, 2.21, {NEEDS_VET}),  # 4.42 a day
    ("dog", "carprofen", 24, 8, {NEEDS_VET}),
    ("dog", "carprofen", 24, 8.01, {NEEDS_VET, REFUSED}),
    ("dog", "robenacoxib", 24, 4, set()),
    ("dog", "robenacoxib", 24, 4.01, {NEEDS_VET}),
    ("dog", "robenacoxib", 24, 8.01, {NEEDS_VET, REFUSED}),
    ("cat", "robenacoxib", 24, 2, set()),
    ("cat", "robenacoxib", 24, 2.01, {NEEDS_VET}),
    ("cat", "robenacoxib", 24, 4.01, {NEEDS_VET, REFUSED}),
]


@pytest.mark.parametrize(("species", "drug", "every", "mg_per_kg", "expected"), AMOUNTS)
def test_each_limit_is_passed_above_the_value_itself(species, drug, every, mg_per_kg, expected):
    case = patient(species, given_in_clinic=clinic(drug, 0.1))
    assert kinds(asked(drug, mg_per_kg, every=every, days=2), case) == expected


@pytest.mark.parametrize("species", ["guinea_pig", "dog"])
@pytest.mark.parametrize(
    ("first", "given", "expected"),
    [
        (0.2, (), set()),  # the first day of a course that begins at home
        (0.201, (), {WARNING}),
        (None, clinic("meloxicam", 0.2), set()),
    ],
)
def test_the_first_day_may_have_0_2(species, first, given, expected):
    loading = asked("meloxicam", 0.1, days=2, first_mg_per_kg=first)
    assert kinds(loading, patient(species, given_in_clinic=given)) - {NEEDS_VET} == expected


@pytest.mark.parametrize(
    ("species", "milligrams"), [("guinea_pig", ["0.18", "0.09", "0.09"]), ("dog", ["2.4", "1.2", "1.2", "1.2"])]
)
def test_a_proposal_that_begins_at_home_has_the_larger_first_dose(species, milligrams):
    case = patient(species, given_in_clinic=(), last_ate_before_discharge_at=at("2025-03-10 15:00"))
    (medicine,) = compile_plan(case, load(f"{species}_spay"), formulary()).medication
    assert [f"{dose.mg:f}" for dose in medicine.doses] == milligrams


COURSES = [
    # species, drug, mg/kg, days at home (the clinic's day is one more), what stands against the days
    ("guinea_pig", "meloxicam", 0.1, 2, set()),
    ("guinea_pig", "meloxicam", 0.1, 3, {WARNING}),
    ("guinea_pig", "meloxicam", 0.1, 5, {NEEDS_VET}),
    ("rabbit", "meloxicam", 0.6, 3, set()),
    ("rabbit", "meloxicam", 0.6, 4, {WARNING}),
    ("cat", "meloxicam", 0.05, 4, set()),
    ("cat", "meloxicam", 0.05, 5, {NEEDS_VET}),
    ("dog", "meloxicam", 0.1, 3, set()),
    ("dog", "meloxicam", 0.1, 4, {WARNING}),
    ("ferret", "meloxicam", 0.2, 2, set()),
    ("ferret", "meloxicam", 0.2, 3, {WARNING}),
    ("rat", "meloxicam", 1, 2, set()),
    ("rat", "meloxicam", 1, 3, {WARNING}),
    ("dog", "carprofen", 4, 4, set()),
    ("dog", "carprofen", 4, 5, {NEEDS_VET}),
    ("dog", "robenacoxib", 2, 2, set()),
    ("dog", "robenacoxib", 2, 3, {NEEDS_VET}),
    ("cat", "robenacoxib", 1, 2, set()),
    ("cat", "robenacoxib", 1, 3, {NEEDS_VET}),
]


@pytest.mark.parametrize(("species", "drug", "mg_per_kg", "days", "expected"), COURSES)
def test_the_length_of_each_course_counts_the_clinics_day(species, drug, mg_per_kg, days, expected):
    case = patient(species, given_in_clinic=clinic(drug, 0.1))
    assert kinds(asked(drug, mg_per_kg, days=days), case, "days") == expected


@pytest.mark.parametrize(
    ("given", "days", "expected"),
    [
        ((), 3, set()),  # the label's three doses, all at home
        ((), 4, {WARNING}),
        (None, 2, set()),
        (None, 3, {WARNING}),  # the clinic may have given the first
        (clinic("carprofen", 4), 3, set()),  # it gave another drug
        (clinic("meloxicam", 0.2) * 2, 2, set()),  # twice on one day is one day
    ],
)
def test_a_course_counts_what_the_clinic_may_have_given(given, days, expected):
    assert kinds(asked("meloxicam", 0.1, days=days), patient("guinea_pig", given_in_clinic=given), "days") == expected


@pytest.mark.parametrize(
    ("species", "drug", "age_months", "asks"),
    [
        ("guinea_pig", "meloxicam", 0.91, True),  # 3.96 weeks
        ("guinea_pig", "meloxicam", 0.93, False),  # 4.04 weeks
        ("cat", "meloxicam", 1.37, True),  # 5.96 weeks
        ("cat", "meloxicam", 1.39, False),  # 6.04 weeks
        ("dog", "meloxicam", 1.37, True),
        ("dog", "meloxicam", 1.39, False),
        ("dog", "robenacoxib", 3.99, True),
        ("dog", "robenacoxib", 4.0, False),
        ("cat", "robenacoxib", 3.99, True),
        ("rabbit", "meloxicam", 1, False),  # no least age in the table
        ("cat", "meloxicam", None, False),  # not known
    ],
)
def test_the_least_age(species, drug, age_months, asks):
    case = patient(species, age_months=age_months, given_in_clinic=clinic(drug, 0.1))
    problems = prescribed(asked(drug, 0.1), case).problems
    assert ("$.patient.age_months" in found(problems, NEEDS_VET)) is asks


@pytest.mark.parametrize(("grams", "asks"), [(2499, True), (2500, False)])
def test_robenacoxib_is_for_two_and_a_half_kilograms_and_more(grams, asks):
    case = patient("cat", grams=grams, given_in_clinic=clinic("robenacoxib", 2))
    assert ("$.patient.weight_g" in found(prescribed(asked("robenacoxib", 1), case).problems, NEEDS_VET)) is asks


@pytest.mark.parametrize(
    ("species", "drug", "every", "asks"),
    [
        ("guinea_pig", "meloxicam", 12, False),
        ("rabbit", "meloxicam", 12, False),
        ("cat", "meloxicam", 12, True),
        ("dog", "meloxicam", 12, True),
        ("rat", "meloxicam", 48, True),
        ("dog", "carprofen", 12, False),
        ("dog", "carprofen", 8, True),
    ],
)
def test_an_interval_other_than_the_rows_needs_a_vet(species, drug, every, asks):
    case = patient(species, given_in_clinic=clinic(drug, 0.1))
    assert (NEEDS_VET in kinds(asked(drug, 0.1, every=every), case, "every_hours")) is asks


@pytest.mark.parametrize(
    ("species", "mg_per_kg", "strength", "days"),
    [
        ("guinea_pig", 0.1, "0.5", 2),
        ("rabbit", 0.6, "1.5", 3),
        ("cat", 0.05, "0.5", 4),
        ("dog", 0.1, "1.5", 3),
        ("ferret", 0.2, "0.5", 2),
        ("rat", 1.0, "1.5", 2),
    ],
)
def test_what_is_proposed_where_nobody_prescribed(species, mg_per_kg, strength, days):
    case = patient(
        species, given_in_clinic=clinic("meloxicam", 0.2), last_ate_before_discharge_at=at("2025-03-10 15:00")
    )
    plan = compile_plan(case, load(f"{species}_spay"), formulary())
    (medicine,) = plan.medication
    assert (medicine.drug, medicine.proposal, f"{medicine.mg_per_ml}", len(medicine.doses)) == (
        "meloxicam",
        True,
        strength,
        days,
    )
    mg = medicine.doses[0].mg
    assert mg is not None
    assert float(mg) == pytest.approx(mg_per_kg * GRAMS[species] / 1000)
    assert "$.home_medication" in found(plan.problems, NEEDS_VET)


@pytest.mark.parametrize(("species", "jurisdiction", "mg_per_kg"), [("cat", "us", 0.2), ("cat", "eu_uk", 0.3)])
def test_no_proposal_where_it_would_be_refused_and_it_is_said_why(species, jurisdiction, mg_per_kg):
    case = patient(
        species,
        jurisdiction=Jurisdiction(jurisdiction),
        given_in_clinic=clinic("meloxicam", mg_per_kg),
        last_ate_before_discharge_at=at("2025-03-10 15:00"),
    )
    plan = compile_plan(case, load(f"{species}_spay"), formulary())
    assert plan.medication == ()
    assert "$.home_medication" in found(plan.problems, WARNING)
    assert not plan.needs_vet()


def test_a_cats_course_without_an_injection_needs_a_vet():
    case = patient("cat", given_in_clinic=())
    problems = prescribed(asked("meloxicam", 0.05), case).problems
    assert "$.given_in_clinic" in found(problems, NEEDS_VET)
