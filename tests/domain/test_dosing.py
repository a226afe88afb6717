"""Rounding to a syringe, and what one prescription becomes. Each row shows its sum."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from followup.domain.case import Patient
from followup.domain.dosing import (
    MARKS,
    NoSuchSyringe,
    mark_of,
    smallest_syringe,
    to_steps,
    total_ml,
    total_tablets,
)
from followup.domain.exact import exact
from followup.domain.terms import Caution, Form, HomeRoute, Jurisdiction, ProblemKind, Species
from tests.recoveries import (
    MELOXICAM_IN_CLINIC,
    at,
    found,
    guinea_pig,
    meloxicam,
    prescribed,
    rabbit,
)

REFUSED, NEEDS_VET, WARNING = ProblemKind.REFUSED, ProblemKind.NEEDS_VET, ProblemKind.WARNING


@pytest.mark.parametrize(
    ("amount", "step", "limits", "delivered"),
    [
        ("0.18", "0.01", [], "0.18"),  # 18 marks
        ("0.184", "0.01", [], "0.18"),  # 18.4: the nearest is 18
        ("0.186", "0.01", [], "0.19"),  # 18.6: the nearest is 19
        ("0.185", "0.01", [], "0.18"),  # 18.5: a tie goes down
        ("0.186", "0.01", ["0.188"], "0.18"),  # 0.19 would pass a limit that 0.186 keeps
        ("0.186", "0.01", ["0.186"], "0.18"),  # at the limit itself is kept
        ("0.186", "0.01", ["0.1"], "0.19"),  # passed already: the limit speaks, not the rounding
        ("0.04", "0.1", [], "0"),  # nearer to no mark at all
        ("0.05", "0.1", [], "0"),  # a tie with no mark at all
    ],
)
def test_an_amount_goes_to_the_nearest_mark(amount, step, limits, delivered):
    rounded = to_steps(Fraction(amount), Fraction(step), [Fraction(limit) for limit in limits])
    assert rounded.amount == Fraction(delivered)


@pytest.mark.parametrize(
    ("size", "mark"),
    [
        ("1", "0.01"),
        ("2", "0.1"),
        ("2.5", "0.1"),
        ("3", "0.1"),
        ("5", "0.2"),
        ("10", "0.5"),
        ("20", "1"),
    ],
)
def test_each_syringe_has_its_marks(size, mark):
    assert mark_of(Decimal(size)) == Decimal(mark)


def test_a_syringe_that_is_not_sold_is_refused_in_words():
    with pytest.raises(NoSuchSyringe, match="no 4 ml oral syringe"):
        mark_of(Decimal(4))


@pytest.mark.parametrize(("largest", "size"), [("0.4", "1"), ("1", "1"), ("1.01", "2"), ("4", "5"), ("21", "20")])
def test_the_smallest_syringe_that_holds_the_dose(largest, size):
    assert smallest_syringe(Fraction(largest)) == Decimal(size)


def test_what_is_dispensed_is_a_tenth_more_rounded_up():
    assert total_ml([Fraction("0.36"), Fraction("0.18"), Fraction("0.18")]) == Fraction("0.8")  # 0.792
    assert total_ml([Fraction(1), Fraction(1)]) == Fraction("2.2")
    assert total_ml([]) == 0
    assert total_tablets([Fraction("0.5"), Fraction("0.5"), Fraction("0.5")]) == 2


@given(
    amount=st.fractions(min_value=Fraction(1, 1000), max_value=30),
    size=st.sampled_from(sorted(MARKS)),
    share=st.fractions(min_value=Fraction(1, 2), max_value=2),
)
def test_rounding_is_within_half_a_mark_or_kept_below_a_limit(amount, size, share):
    mark, limit = exact(MARKS[size]), amount * share
    rounded = to_steps(amount, mark, [limit])
    assert (rounded.amount / mark).denominator == 1
    if limit >= amount:
        assert rounded.amount <= limit
        assert -mark < rounded.amount - amount <= mark / 2
    else:
        assert abs(rounded.amount - amount) <= mark / 2


@given(
    weight_g=st.integers(250, 1600),
    hundredths=st.integers(1, 250),
    strength=st.sampled_from([0.5, 1.5]),
    every_hours=st.sampled_from([12, 24]),
    size=st.sampled_from([None, 1, 2, 5]),
)
def test_no_day_delivers_more_than_the_hard_limit(weight_g, hundredths, strength, every_hours, size):
    asked = meloxicam(hundredths / 100, mg_per_ml=strength, every_hours=every_hours, days=3, syringe_ml=size)
    case = guinea_pig(weight_g)
    medicine = prescribed(asked, case).medicine
    days: dict[dt.date, Fraction] = {}
    for dose in medicine.doses:
        assert dose.ml is not None
        assert dose.mg is not None
        day = case.hours.local(dose.at).date()
        days[day] = days.get(day, 0) + exact(dose.ml) * exact(strength) * 1000 / weight_g
        error = abs(exact(dose.ml) - exact(dose.mg) / exact(strength))
        assert medicine.graduation_ml is not None
        assert error <= exact(medicine.graduation_ml)
        assert dose.ml > 0
    assert all(amount <= 2 for amount in days.values())  # mg/kg a day, guinea pig


@pytest.mark.parametrize(
    ("mg_per_kg", "kind"),
    [
        (0.1, None),  # the label's dose
        (0.11, WARNING),  # above 0.1
        (0.6, WARNING),  # at the limit, not above it
        (0.61, NEEDS_VET),
        (2.0, NEEDS_VET),
        (2.01, REFUSED),
    ],
)
def test_guinea_pig_limits_are_passed_above_the_value_itself(mg_per_kg, kind):
    problems = [p for p in prescribed(meloxicam(mg_per_kg)).problems if p.path.endswith("mg_per_kg")]
    assert max((p.kind for p in problems), key=[WARNING, NEEDS_VET, REFUSED].index, default=None) == kind


def test_rounding_twice_a_day_keeps_the_limit_of_the_day():
    # 833 g x 1 mg/kg / 0.5 mg/ml = 1.666 ml; 1.7 ml twice would be 2.04 mg/kg a day, above 2.0
    asked = meloxicam(1, every_hours=12, syringe_ml=2)
    assert {dose.ml for dose in prescribed(asked, guinea_pig(833)).medicine.doses} == {Decimal("1.6")}
    once = prescribed(meloxicam(1, syringe_ml=2), guinea_pig(833)).medicine
    assert {dose.ml for dose in once.doses} == {Decimal("1.7")}


@pytest.mark.parametrize(
    ("mg_per_kg", "every_hours", "kinds"),
    [
        (0.2, 24, {WARNING}),  # judged inadequate once a day
        (0.3, 24, set()),
        (0.2, 12, set()),  # 0.4 a day in two
        (0.6, 24, set()),
        (0.8, 12, {WARNING}),  # 1.6 a day
        (1.1, 12, {WARNING, NEEDS_VET}),  # 2.2 a day
        (1.6, 12, {WARNING, NEEDS_VET, REFUSED}),  # 3.2 a day
    ],
)
def test_rabbit_limits_are_of_the_whole_day(mg_per_kg, every_hours, kinds):
    asked = meloxicam(mg_per_kg, mg_per_ml=1.5, every_hours=every_hours, days=3)
    problems = prescribed(asked, rabbit()).problems
    assert {p.kind for p in problems if p.path.endswith("mg_per_kg")} == kinds


def test_a_loading_dose_of_a_fresh_course_is_within_the_first_days_limit():
    fresh = prescribed(meloxicam(first_mg_per_kg=0.2), guinea_pig(given_in_clinic=()))
    assert [dose.mg for dose in fresh.medicine.doses] == [Decimal("0.18"), Decimal("0.09")]
    assert "$.home_medication[0].mg_per_kg" not in found(fresh.problems, WARNING)


@pytest.mark.parametrize("given", [None, guinea_pig().given_in_clinic])
def test_a_loading_dose_is_dropped_when_the_clinic_gave_it_or_nobody_knows(given):
    result = prescribed(meloxicam(first_mg_per_kg=0.2), guinea_pig(given_in_clinic=given))
    assert [dose.mg for dose in result.medicine.doses] == [Decimal("0.09"), Decimal("0.09")]
    assert "$.home_medication[0].first_mg_per_kg" in found(result.problems, WARNING)


def test_a_refused_medicine_keeps_its_entry_without_doses():
    medicine = prescribed(meloxicam(3)).medicine
    assert (medicine.drug, medicine.doses, medicine.total_ml) == ("meloxicam", (), Decimal(0))


def test_a_dose_that_no_mark_shows_is_refused_and_a_better_syringe_named():
    result = prescribed(meloxicam(syringe_ml=20))  # 0.18 ml on marks of 1 ml
    [problem] = [p for p in result.problems if p.kind is REFUSED]
    assert problem.path == "$.home_medication[0].syringe_ml"
    assert "1 ml syringe is better" in problem.message
    assert result.medicine.doses == ()


def test_a_coarse_syringe_warns_of_two_marks_and_of_the_error():
    result = prescribed(meloxicam(syringe_ml=2))  # 0.18 ml → 0.2 ml: 1.8 marks, 11.1 %
    said = " ".join(p.message for p in result.problems if p.path.endswith("syringe_ml"))
    assert "under two marks" in said
    assert "11.1111 %" in said
    assert result.medicine.doses[0].rounding_error == Decimal("0.111111")


@pytest.mark.parametrize("drug", ["amoxicillin", "clindamycin", "erythromycin", "lincomycin"])
def test_antibiotics_that_kill_grazers_are_refused_by_mouth(drug):
    asked = meloxicam(1, drug=drug)
    assert found(prescribed(asked).problems, REFUSED) == ["$.home_medication[0].drug"]
    skin = prescribed(replace(asked, route=HomeRoute.SKIN))
    assert found(skin.problems, REFUSED) == []
    assert "$.home_medication[0].drug" in found(skin.problems, NEEDS_VET)  # not in the table


def cat(**changes):
    return guinea_pig(4000, patient=Patient(Species.CAT, 4000, age_months=24), **changes)


@pytest.mark.parametrize(
    ("drug", "case"),
    [("paracetamol", cat()), ("carprofen", cat()), ("ibuprofen", rabbit()), ("permethrin", cat())],
)
def test_what_poisons_a_species_is_refused(drug, case):
    assert "$.home_medication[0].drug" in found(prescribed(meloxicam(drug=drug), case).problems, REFUSED)


@pytest.mark.parametrize(
    ("mg_per_kg", "jurisdiction", "refused"),
    [(0.2, "eu_uk", False), (0.3, "eu_uk", True), (0.2, "us", True)],
)
def test_a_cat_gets_nothing_by_mouth_after_a_large_injection(mg_per_kg, jurisdiction, refused):
    injection = replace(MELOXICAM_IN_CLINIC, mg_per_kg=mg_per_kg)
    case = cat(given_in_clinic=(injection,), jurisdiction=Jurisdiction(jurisdiction))
    assert bool(found(prescribed(meloxicam(0.05), case).problems, REFUSED)) is refused


def test_a_cats_course_without_an_injection_needs_a_vet():
    fresh = prescribed(meloxicam(0.05), cat(given_in_clinic=()))
    assert "$.given_in_clinic" in found(fresh.problems, NEEDS_VET)


@pytest.mark.parametrize("caution", list(Caution))
def test_each_caution_stops_an_nsaid_until_a_vet_confirms(caution):
    case = guinea_pig(patient=replace(guinea_pig().patient, cautions=frozenset({caution})))
    assert "$.patient.cautions" in found(prescribed(meloxicam(), case).problems, NEEDS_VET)


@pytest.mark.parametrize(("age_months", "asked"), [(0.9, True), (0.92, False)])  # 3.91, 4.0002 weeks
def test_under_four_weeks_a_guinea_pig_needs_a_vet(age_months, asked):
    case = guinea_pig(patient=replace(guinea_pig().patient, age_months=age_months))
    paths = found(prescribed(meloxicam(), case).problems, NEEDS_VET)
    assert ("$.patient.age_months" in paths) is asked


@pytest.mark.parametrize(("days", "kind"), [(2, None), (3, WARNING), (4, WARNING), (5, NEEDS_VET)])
def test_a_guinea_pigs_course_counts_the_clinics_dose(days, kind):
    problems = prescribed(meloxicam(days=days)).problems  # days at home, and one in the clinic
    assert next((p.kind for p in problems if p.path.endswith(".days")), None) == kind


def test_an_unusual_strength_names_the_unit():
    [problem] = [p for p in prescribed(meloxicam(mg_per_ml=5)).problems if p.path.endswith("mg_per_ml")]
    assert problem.kind is WARNING
    assert "mg/ml" in problem.message


def test_another_nsaid_within_a_day_of_the_clinics_needs_a_vet():
    asked = meloxicam(drug="ketoprofen")
    messages = [p.message for p in prescribed(asked).problems if p.kind is NEEDS_VET]
    assert any("The clinic gave meloxicam" in message for message in messages)


def test_tablets_go_to_the_nearest_part_and_whole_ones_are_dispensed():
    asked = meloxicam(0.1, form=Form.TABLET, mg_per_ml=None, mg_per_tablet=1, days=3)
    dog = guinea_pig(patient=Patient(Species.DOG, 7000, age_months=24), given_in_clinic=())
    medicine = prescribed(asked, dog).medicine  # 0.7 mg → 0.5 tablets of 1 mg in halves
    assert [dose.tablets for dose in medicine.doses] == [Decimal("0.5")] * 3
    assert medicine.total_tablets == 2
    assert "$.home_medication[0].mg_per_tablet" in found(prescribed(asked, dog).problems, WARNING)  # 28.6 %


def test_a_tablet_that_is_far_too_large_is_refused():
    asked = meloxicam(0.1, form=Form.TABLET, mg_per_ml=None, mg_per_tablet=2.5)
    assert "$.home_medication[0].mg_per_tablet" in found(prescribed(asked).problems, REFUSED)


def test_a_fixed_amount_is_given_as_it_was_written():
    asked = meloxicam(
        None,
        drug="simethicone",
        form=Form.FIXED,
        mg_per_ml=None,
        fixed_amount=0.5,
        fixed_unit="ml",
        days=1,
    )
    medicine = prescribed(asked).medicine
    assert [dose.fixed for dose in medicine.doses] == ["0.5 ml"]
    assert medicine.doses[0].at == at("2025-03-10 19:00")  # no NSAID: the first evening
