"""Figures for the vet, and dates of the discharge card. Source: clinical defaults, 3, 9, 10 (marks: the protocols)."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest

from followup.domain.case import DischargeCard, Prescription
from followup.domain.going_home import a_day, resting_energy
from followup.domain.terms import ProblemKind
from followup.protocols.load import load
from tests.domain.test_medicine_table import asked, patient
from tests.domain.triage_cases import clock, seen, verdict
from tests.recoveries import found, guinea_pig, meloxicam, plan_of, prescribed, rabbit

WARNING = ProblemKind.WARNING


@pytest.mark.parametrize(
    ("name", "grams", "what", "amounts"),
    [
        ("guinea_pig_castration", 900, "fluids", ("90", "90")),  # 0.9 kg x 100 ml
        ("guinea_pig_castration", 900, "vitamin C", ("9", "27")),  # 0.9 kg x 10 to 30 mg
        ("rabbit_spay", 2400, "fluids", ("180", "240")),  # 2.4 kg x 75 to 100 ml
    ],
)
def test_what_the_body_needs_a_day(name, grams, what, amounts):
    (need,) = [each for each in load(name).course.daily_needs if each.what == what]
    assert tuple(map(str, a_day(grams, need))) == amounts


def test_no_other_species_has_a_figure():
    assert load("rabbit_spay").course.daily_needs[1:] == ()
    assert [load(f"{each}_spay").course.daily_needs for each in ("cat", "dog", "ferret", "rat")] == [()] * 4


@pytest.mark.parametrize(("mg_per_kg", "kinds"), [(9.9, {WARNING}), (10, set()), (30, set()), (30.1, {WARNING})])
def test_vitamin_c_that_is_prescribed_is_checked_against_the_same_range(mg_per_kg, kinds):
    liquid = replace(asked("vitamin c", mg_per_kg), mg_per_ml=50)
    problems = prescribed(liquid, patient("guinea_pig")).problems
    assert {each.kind for each in problems if each.path.endswith("mg_per_kg")} == kinds


@pytest.mark.parametrize(("kg", "off"), [(2, 0.1), (10, 0.07), (45, 0.17)])
def test_the_linear_form_is_near_from_2_to_45_kilograms(kg, off):
    """30 x kg + 70 (P, as printed); it is never used here."""
    assert abs(float(30 * kg + 70) / float(resting_energy(kg * 1000)) - 1) <= off + 0.005


@pytest.mark.parametrize("kg", [0.3, 0.9, 70])
def test_beyond_the_linear_form_is_far_off(kg):
    assert abs(float(30 * kg + 70) / float(resting_energy(kg * 1000)) - 1) > 0.2


@pytest.mark.parametrize(
    ("case", "day", "warns"),
    [
        (guinea_pig(), 9, True), (guinea_pig(), 10, False), (guinea_pig(), 14, False), (guinea_pig(), 15, True),
        (rabbit(), 6, True), (rabbit(), 7, False), (rabbit(), 14, False), (rabbit(), 15, True),
    ],
)  # fmt: skip
def test_stitches_come_out_on_day_10_to_14_and_a_rabbits_from_7(case, day, warns):
    out = DischargeCard(stitches_out_on=case.day_0 + dt.timedelta(days=day))
    plan = plan_of(replace(case, discharge=out, home_medication=()))
    assert ("$.discharge.stitches_out_on" in found(plan.problems, WARNING)) is warns


def test_the_newest_weight_counts_against_the_weight_at_discharge():
    def level(*weights: int) -> str:
        told = [seen(f"1{day} 07:30", weight=grams, appetite="normal") for day, grams in enumerate(weights, start=1)]
        levels = [
            each.level.word
            for each in verdict(guinea_pig(home_medication=()), told, f"1{len(weights)} 07:30").findings
            if each.rule.startswith("weight")
        ]
        return max(levels, default="")

    assert level(800) == "urgent"  # 11 % below 900 g
    assert level(800, 860) == ""  # 4.4 % below: the newest counts
    assert level(890, 855) == "monitor"  # 5 % below the discharge, 4 % below the day before
    assert level(990, 900) == ""  # 9 % below the first home weight, none below the discharge


def test_the_wrong_one_of_two_strengths_is_exactly_threefold():
    right = prescribed(meloxicam(0.6, mg_per_ml=1.5), rabbit()).medicine.doses[0].ml
    wrong = prescribed(meloxicam(0.6, mg_per_ml=0.5), rabbit()).medicine.doses[0].ml
    assert right is not None
    assert wrong is not None
    assert (f"{right:f}", f"{wrong:f}") == ("0.96", "2.9")  # 2.88 ml in marks of 0.1 ml


def test_a_week_twice_a_day_is_fourteen_doses():
    """7 days x 24 / 12."""
    course = Prescription("metoclopramide", 12, 7, mg_per_kg=0.5, mg_per_ml=1, off_label_explained=True)
    doses = prescribed(course, rabbit()).medicine.doses
    assert (len(doses), clock(doses[0].at), clock(doses[-1].at)) == (14, "10 19:00", "17 07:00")
