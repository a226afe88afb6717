"""Medicines beside each other, other names, other routes, times that warn. Source: clinical defaults, 8 and 14."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest

from followup.domain.case import GivenInClinic, Prescription
from followup.domain.cover import cover_of
from followup.domain.terms import ClinicRoute, Form, HomeRoute, Jurisdiction, ProblemKind
from followup.protocols.load_formulary import formulary
from tests.domain.test_medicine_table import asked, clinic, kinds, patient
from tests.recoveries import MELOXICAM_IN_CLINIC, at, clock, found, guinea_pig, meloxicam, plan_of, prescribed, rabbit

REFUSED, NEEDS_VET, WARNING = ProblemKind.REFUSED, ProblemKind.NEEDS_VET, ProblemKind.WARNING
HOME = "$.home_medication[{}].drug"


def gabapentin(**changes) -> Prescription:
    return replace(Prescription("gabapentin", 12, 2, mg_per_kg=10, mg_per_ml=50), **changes)


def test_a_steroid_at_home_stops_an_nsaid_until_a_vet_confirms_in_either_order():
    steroid = replace(gabapentin(), drug="prednisolone", mg_per_kg=0.5, mg_per_ml=1)
    for order, nsaid in (((meloxicam(), steroid), 0), ((steroid, meloxicam()), 1)):
        plan = plan_of(guinea_pig(home_medication=order))
        said = [each.message for each in plan.problems if each.path == HOME.format(nsaid) and each.kind is NEEDS_VET]
        assert said == ["meloxicam beside prednisolone, a steroid: only when a vet confirms it."]


@pytest.mark.parametrize(
    ("given_at", "asks"),
    [("2025-03-10 10:00", True), ("2025-03-10 09:59", False)],  # 24 h before the first dose, and a minute more
)
def test_a_steroid_in_the_clinic_24_hours_or_less_before_the_first_dose(given_at, asks):
    steroid = GivenInClinic("dexamethasone", at(given_at), 0.2)
    case = guinea_pig(given_in_clinic=(MELOXICAM_IN_CLINIC, steroid))  # the first dose at home is at 10:00
    assert ("$.given_in_clinic" in found(prescribed(meloxicam(), case).problems, NEEDS_VET)) is asks
    harmless = prescribed(gabapentin(), case).problems
    assert "$.given_in_clinic" not in [each.path for each in harmless]


@pytest.mark.parametrize(
    ("clinic_at", "asks"),
    [("2025-03-10 10:00", True), ("2025-03-10 05:30", False)],  # 24 h before 10:00; 25.5 h before waking at 07:00
)
def test_another_nsaid_than_the_clinics_24_hours_or_less_after_it(clinic_at, asks):
    case = guinea_pig(given_in_clinic=(replace(MELOXICAM_IN_CLINIC, at=at(clinic_at)),))
    problems = prescribed(meloxicam(drug="ketoprofen"), case).problems
    assert any("would follow within 24 hours" in each.message for each in problems) is asks


def test_the_same_drug_twice_is_refused_since_only_together_they_pass_a_limit():
    plan = plan_of(rabbit(home_medication=(gabapentin(), gabapentin(every_hours=24))))
    assert found(plan.problems, REFUSED) == [HOME.format(1)]
    assert "stands twice" in next(each.message for each in plan.problems if each.kind is REFUSED)
    drops = replace(gabapentin(), drug="buprenorphine", mg_per_kg=0.05, mg_per_ml=0.3, route=HomeRoute.CHEEK)
    nsaid = plan_of(rabbit(home_medication=(meloxicam(0.6, mg_per_ml=1.5), meloxicam(0.6, mg_per_ml=1.5))))
    assert found(nsaid.problems, REFUSED) == [HOME.format(1)]  # said once
    twice = plan_of(rabbit(home_medication=(drops, drops)))  # a painkiller: its cover is that of the first
    assert [len(each.doses) for each in twice.medication] == [4, 0]
    assert len([each for each in twice.cover.intervals if each.drug == "buprenorphine"]) == 4


@pytest.mark.parametrize("route", list(HomeRoute))
def test_what_kills_by_mouth_is_refused_by_mouth_and_into_the_cheek_alone(route):
    by_mouth = route in {HomeRoute.PO, HomeRoute.CHEEK}
    assert (REFUSED in kinds(asked("clindamycin", 5, route=route), patient("rabbit"), "drug")) is by_mouth
    us = patient("cat", jurisdiction=Jurisdiction.US, given_in_clinic=clinic("meloxicam", 0.2))
    assert (REFUSED in kinds(asked("meloxicam", 0.05, route=route), us, "drug")) is by_mouth


@pytest.mark.parametrize(
    ("jurisdiction", "given", "refused", "warned"),
    [
        ("us", {"route": None, "mg_per_kg": 0.1}, True, False),  # by which way was not written: it was an injection
        ("us", {"route": ClinicRoute.PO, "mg_per_kg": 0.05}, False, False),
        ("us", {"route": ClinicRoute.IV, "mg_per_kg": 0.05}, True, False),
        ("eu_uk", {"route": None, "mg_per_kg": 0.3}, True, False),
        ("other", {"route": ClinicRoute.SC, "mg_per_kg": 0.3}, True, False),  # as in the EU and UK
        ("other", {"route": ClinicRoute.SC, "mg_per_kg": 0.2}, False, False),
        ("eu_uk", {"route": ClinicRoute.SC, "mg_per_kg": None}, False, True),  # it may have been 0.3
    ],
)
def test_what_a_cat_may_have_after_the_clinics_meloxicam(jurisdiction, given, refused, warned):
    had = (replace(MELOXICAM_IN_CLINIC, **given),)
    case = patient("cat", jurisdiction=Jurisdiction(jurisdiction), given_in_clinic=had)
    said = kinds(asked("meloxicam", 0.05), case, "drug")
    assert (REFUSED in said, WARNING in said) == (refused, warned)


@pytest.mark.parametrize(
    ("species", "drug"),
    [
        ("cat", "acetaminophen"),
        ("rabbit", "amoxicillin-clavulanate"),
        ("guinea_pig", "penicillin v"),
        ("guinea_pig", "phenoxymethylpenicillin"),
    ],
)
def test_other_generic_names_of_what_is_never_given(species, drug):
    assert REFUSED in kinds(asked(drug, 1), patient(species), "drug")


def test_a_fixed_amount_of_what_is_dosed_by_weight_needs_a_vet():
    drops = Prescription("meloxicam", 24, 2, Form.FIXED, fixed_amount=3, fixed_unit="drop")
    assert NEEDS_VET in kinds(drops, guinea_pig(), "fixed_amount")
    by_animal = replace(drops, drug="simethicone", every_hours=12)
    assert kinds(by_animal, guinea_pig(), "fixed_amount") == set()


@pytest.mark.parametrize(("strength", "says"), [(50, False), (5, True), (0.5, True)])  # 5 per cent are 50 mg/ml
def test_a_strength_of_carprofen_names_the_unit(strength, says):
    case = patient("dog", given_in_clinic=clinic("carprofen", 4))
    said = prescribed(replace(asked("carprofen", 4), mg_per_ml=strength), case).problems
    assert any("per cent or mg/ml" in each.message for each in said) is says


@pytest.mark.parametrize(("mg_per_kg", "says"), [(5, False), (5.01, True)])
def test_ten_times_the_usual_is_of_one_dose_and_not_of_a_day(mg_per_kg, says):
    # metoclopramide 0.5 mg/kg; twice a day 5 mg/kg are 10 a day, twenty times one usual dose
    once = replace(gabapentin(), drug="metoclopramide", mg_per_kg=mg_per_kg, mg_per_ml=5)
    assert any("10 times" in each.message for each in prescribed(once, rabbit()).problems) is says
    loading = replace(once, mg_per_kg=0.5, first_mg_per_kg=mg_per_kg)
    assert any("10 times" in each.message for each in prescribed(loading, rabbit()).problems) is says


def test_three_doses_a_day_are_said_not_to_be_8_hours_apart():
    three = replace(gabapentin(), every_hours=8)
    result = prescribed(three, rabbit())
    assert [clock(dose.at) for dose in result.medicine.doses[:3]] == ["03-10 21:00", "03-11 07:00", "03-11 14:30"]
    assert WARNING in kinds(three, rabbit(), "every_hours")
    assert kinds(gabapentin(), rabbit(), "every_hours") == set()


def test_a_drug_that_is_no_nsaid_begins_the_first_evening_without_a_word():
    for given in ((), None, guinea_pig().given_in_clinic):
        result = prescribed(gabapentin(), guinea_pig(given_in_clinic=given))
        assert clock(result.medicine.doses[0].at) == "03-10 19:00"
        assert "$.given_in_clinic" not in [each.path for each in result.problems]
    late = prescribed(gabapentin(), guinea_pig(discharged_at=at("2025-03-10 21:30")))
    assert clock(late.medicine.doses[0].at) == "03-11 07:00"
    assert kinds(gabapentin(), guinea_pig(discharged_at=at("2025-03-10 21:30")), "every_hours") == set()


@pytest.mark.parametrize(("every", "days", "doses"), [(36, 3, 0), (6, 1, 0), (48, 3, 2), (1464, 60, 0)])
def test_an_interval_that_cannot_be_kept_is_refused_with_the_reason(every, days, doses):
    result = prescribed(gabapentin(every_hours=every, days=days), rabbit())
    assert len(result.medicine.doses) == doses
    assert (REFUSED in kinds(gabapentin(every_hours=every, days=days), rabbit(), "every_hours")) is (doses == 0)


@pytest.mark.parametrize(
    ("mg_per_kg", "hours"),
    [(0.021, 5), (0.019, 3)],  # 10 kg: 0.70 and 0.63 ml of 0.3 mg/ml
)
def test_at_home_too_a_dogs_buprenorphine_works_by_its_amount(mg_per_kg, hours):
    dose = Prescription("buprenorphine", 12, 1, mg_per_kg=mg_per_kg, mg_per_ml=0.3, route=HomeRoute.CHEEK)
    case = patient("dog", grams=10_000, given_in_clinic=())
    medicine = prescribed(dose, case).medicine
    ends = cover_of(case, [medicine], formulary()).intervals
    assert {each.ends - each.starts for each in ends} == {dt.timedelta(hours=hours)}
