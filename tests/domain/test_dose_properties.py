"""What holds for any weight, dose, strength and syringe, in any species. Source: clinical defaults, 8."""

from __future__ import annotations

import ast
import datetime as dt
import math
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import followup.domain
from followup.casefile import read_case
from followup.domain.case import Case, GivenInClinic, Patient, Prescription
from followup.domain.compiled import Medicine
from followup.domain.dose_times import least_spacing
from followup.domain.dosing import MARKS
from followup.domain.exact import exact
from followup.domain.hours import Away, OwnerHours
from followup.domain.medicines import prescribe
from followup.domain.plan import compile_plan
from followup.domain.plausible import GRAMS
from followup.domain.script import Script
from followup.domain.terms import Caution, ClinicRoute, Form, ProblemKind, Procedure, Species
from followup.protocols.load import available
from followup.protocols.load_formulary import formulary
from tests.case_files import file
from tests.recoveries import plan_of

ROWS = formulary().rows
ENDED = dt.datetime(2026, 3, 28, 10, 30, tzinfo=dt.UTC)
"""The day before the clocks change in London."""

AWAY = (
    (),
    (Away(frozenset(range(5)), dt.time(8), dt.time(17)),),
    (Away(frozenset({0, 2, 4}), dt.time(12), dt.time(14)), Away(frozenset({6}), dt.time(9), dt.time(20))),
)


@st.composite
def cases(draw: st.DrawFn) -> tuple[Case, Prescription]:
    """A patient and one prescription of a row of the table, at up to four times its usual amount."""
    row = draw(st.sampled_from([each for each in ROWS if each.mg_per_kg is not None]))
    species = row.species
    low, high = GRAMS[species]
    usual = exact(row.mg_per_kg or 1)
    tablet = draw(st.booleans())

    def amount() -> float:
        return float(round(usual * draw(st.fractions(Fraction(1, 4), 4, max_denominator=40)), 4)) or 0.0001

    asked = Prescription(
        row.drug,
        every_hours=float(draw(st.sampled_from(row.every_hours))),
        days=draw(st.integers(1, 6)),
        form=Form.TABLET if tablet else Form.LIQUID,
        mg_per_kg=amount(),
        first_mg_per_kg=amount() if draw(st.booleans()) else None,
        mg_per_ml=None if tablet else draw(st.sampled_from([0.5, 1, 1.5, 2, 5, 10, 50])),
        syringe_ml=None if tablet else draw(st.sampled_from([None, *map(float, MARKS)])),
        mg_per_tablet=draw(st.sampled_from([1, 5, 10, 20, 50, 100])) if tablet else None,
        tablet_parts=draw(st.sampled_from([1, 2, 4])),
        off_label_explained=True,
    )
    case = Case(
        patient=Patient(species, draw(st.integers(low, high)), age_months=24),
        procedure=Procedure.SPAY,
        surgery_ended_at=ENDED,
        discharged_at=ENDED + dt.timedelta(hours=draw(st.integers(0, 30))),
        hours=OwnerHours(ZoneInfo("Europe/London"), away=draw(st.sampled_from(AWAY))),
        given_in_clinic=draw(
            st.sampled_from([None, (), (GivenInClinic(row.drug, ENDED - dt.timedelta(hours=1), 0.1, ClinicRoute.SC),)])
        ),
    )
    return case, asked


def medicine_of(case: Case, asked: Prescription) -> tuple[Medicine, list[ProblemKind]]:
    found = prescribe(Script(asked, "$.home_medication[0]", case, formulary()))
    return found.medicine, [each.kind for each in found.problems]


@settings(max_examples=150, suppress_health_check=[HealthCheck.too_slow])
@given(cases())
def test_amounts_stay_below_every_hard_limit_near_the_exact_dose_and_add_up(drawn):
    case, asked = drawn
    medicine, kinds = medicine_of(case, asked)
    if ProblemKind.REFUSED in kinds:
        assert medicine.doses == ()
        return
    kg, strength = exact(case.patient.weight_g) / 1000, exact(medicine.mg_per_ml or medicine.mg_per_tablet or 1)
    step = exact(medicine.graduation_ml) if medicine.graduation_ml is not None else Fraction(1, asked.tablet_parts)
    wanted = [exact(dose.mg or 0) / strength for dose in medicine.doses]
    given_ = amounts_of(medicine)
    on_days = [case.hours.local(dose.at).date() for dose in medicine.doses]
    for asked_for, amount in zip(wanted, given_, strict=True):
        assert amount > 0
        assert (amount / step).denominator == 1  # a whole number of marks or parts
        assert -step / 2 <= asked_for - amount < step  # half a mark; the mark below where a limit would be passed
        if asked_for - amount > step / 2:
            assert would_pass_a_limit(
                medicine, case, [each * strength / kg for each in wanted], (amount + step) * strength / kg
            )
    hard = medicine.hard_limit_mg_per_kg_a_day
    delivered = by_day([each * strength / kg for each in given_], on_days)
    assert hard is None or all(sum(each) <= exact(hard) for each in delivered.values())
    add_up(medicine, sum(given_, Fraction(0)))


def by_day(amounts: list[Fraction], days: list[dt.date]) -> dict[dt.date, list[Fraction]]:
    """The amounts of each day."""
    return {day: [each for each, on in zip(amounts, days, strict=True) if on == day] for day in days}


def would_pass_a_limit(medicine: Medicine, case: Case, exact_doses: list[Fraction], next_mark: Fraction) -> bool:
    """Whether the next mark, mg per kg, is more than a dose's share of a limit that the exact amounts of a day keep."""
    row = next(each for each in ROWS if (each.drug, each.species) == (medicine.drug, case.patient.species))
    bounds = [exact(each.mg_per_kg_a_day) for each in row.limits if each.kind is not ProblemKind.WARNING]
    days = by_day(exact_doses, [case.hours.local(dose.at).date() for dose in medicine.doses])
    return any(
        sum(day) <= bound and next_mark > bound * dose / sum(day)
        for day in days.values()
        for dose in day
        for bound in bounds
    )


def amounts_of(medicine: Medicine) -> list[Fraction]:
    """What the owner gives each time, in ml or tablets."""
    return [exact(dose.ml if dose.ml is not None else dose.tablets or 0) for dose in medicine.doses]


def add_up(medicine: Medicine, total: Fraction) -> None:
    """To dispense: whole tablets; or a tenth more, rounded up to 0.1 ml."""
    if medicine.form is Form.TABLET:
        assert exact(medicine.total_tablets or 0) == math.ceil(total)
        return
    dispensed = exact(medicine.total_ml or 0)
    assert total * Fraction(11, 10) <= dispensed < total * Fraction(11, 10) + Fraction(1, 10)
    assert (dispensed * 10).denominator == 1


@settings(max_examples=150, suppress_health_check=[HealthCheck.too_slow])
@given(cases())
def test_doses_are_well_apart_in_hours_when_somebody_is_there(drawn):
    case, asked = drawn
    medicine, _ = medicine_of(case, asked)
    least = least_spacing(Decimal(str(asked.every_hours)))
    for dose in medicine.doses:
        assert case.hours.there(dose.at)
        assert dose.not_before <= dose.at <= dose.give_until
        assert dose.at >= case.discharged_at
    for earlier, later in pairwise(medicine.doses):
        assert later.at - earlier.at >= least
        assert later.not_before == earlier.at + least
        assert earlier.give_until < later.at
    clinic = [each.at for each in case.given_in_clinic or ()]
    if medicine.doses and medicine.is_nsaid and clinic:
        assert medicine.doses[0].at >= clinic[0] + dt.timedelta(hours=24)


@settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow])
@given(st.permutations(range(3)), st.permutations(range(3)), st.booleans())
def test_the_order_in_which_things_were_written_down_changes_nothing(medicines, clinic, reverse):
    """Of one NSAID and two other medicines; of what the clinic gave; of absences."""
    prescribed = [
        Prescription("meloxicam", 24, 2, mg_per_kg=0.6, mg_per_ml=1.5),
        Prescription("gabapentin", 12, 2, mg_per_kg=10, mg_per_ml=50),
        Prescription("metoclopramide", 12, 2, mg_per_kg=0.5, mg_per_ml=1),
    ]
    given_ = [
        GivenInClinic("meloxicam", ENDED - dt.timedelta(hours=1), 0.5),
        GivenInClinic("buprenorphine", ENDED, 0.03),
        GivenInClinic("metoclopramide", ENDED + dt.timedelta(hours=1), 0.5),
    ]
    protocol = next(each for each in available() if each.name == "rabbit_spay")

    def plan(order: list[int], given_order: list[int], absences: tuple[Away, ...]):
        case = Case(
            patient=Patient(Species.RABBIT, 2400, cautions=frozenset({Caution.DEHYDRATED, Caution.NURSING})),
            procedure=Procedure.SPAY,
            surgery_ended_at=ENDED,
            discharged_at=ENDED + dt.timedelta(hours=6),
            hours=OwnerHours(ZoneInfo("Europe/London"), away=absences),
            given_in_clinic=tuple(given_[index] for index in given_order),
            home_medication=tuple(prescribed[index] for index in order),
        )
        found = compile_plan(case, protocol, formulary())
        by_drug = sorted(found.medication, key=lambda each: each.drug)
        said = sorted((each.kind, each.message) for each in found.problems)
        return replace(found, medication=tuple(by_drug), problems=()), said

    away = AWAY[2][::-1] if reverse else AWAY[2]
    assert plan(medicines, clinic, away) == plan([0, 1, 2], [0, 1, 2], AWAY[2])


def test_the_order_of_words_in_a_case_file_changes_nothing():
    hours = {"wakes": "07:00", "sleeps": "22:00"}
    away = [
        {"days": ["mon", "wed"], "from": "12:00", "to": "14:00"},
        {"days": ["sun", "tue"], "from": "09:00", "to": "20:00"},
    ]
    turned = [{**each, "days": each["days"][::-1]} for each in away[::-1]]
    patient = {"species": "guinea_pig", "weight_g": 900}
    one = read_case(
        file(patient={**patient, "cautions": ["nursing", "dehydrated"]}, owner_hours={**hours, "away": away})
    )
    two = read_case(
        file(patient={**patient, "cautions": ["dehydrated", "nursing"]}, owner_hours={**hours, "away": turned})
    )
    assert plan_of(one) == plan_of(two)


EXACT_ROOMS = (
    "dosing",
    "amounts",
    "limits",
    "prescribing",
    "exact",
    "medicines",
    "proposing",
    "script",
    "side_by_side",
    "going_home",
)


@pytest.mark.parametrize("name", EXACT_ROOMS)
def test_no_binary_float_decides_a_dose(name):
    """In these rooms no literal has a point, and `float(...)` is of hours, or writes a table's value back."""
    source = (Path(followup.domain.__file__).parent / f"{name}.py").read_text(encoding="utf-8")
    tree = ast.parse(source)
    literals = [
        node.value for node in ast.walk(tree) if isinstance(node, ast.Constant) and isinstance(node.value, float)
    ]
    assert literals == []
    floats = [
        ast.unparse(node)
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "float"
    ]
    hours_or_written_back = ("every_hours", "row.mg_per_kg", "loading", "row.proposed_mg_per_ml")
    assert [each for each in floats if not any(name in each for name in hours_or_written_back)] == []


@given(st.decimals(min_value=Decimal("0.001"), max_value=100_000, places=3))
def test_what_was_written_is_what_is_reckoned_with(value):
    """A number of a case file is read as a float and taken as it was written: 0.1 is one tenth."""
    assert exact(float(str(value))) == Fraction(str(value))
