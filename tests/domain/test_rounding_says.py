"""What is said of a rounded dose, at each limit itself; and rounding that keeps the limits of a day.

Source: clinical defaults, 8, "Rounding to the syringe" and "Forms" (C). Each row shows its sum.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from followup.domain.dose_times import least_spacing
from followup.domain.exact import decimal, exact
from followup.domain.terms import Form, ProblemKind
from tests.recoveries import guinea_pig, meloxicam, prescribed

REFUSED, NEEDS_VET, WARNING = ProblemKind.REFUSED, ProblemKind.NEEDS_VET, ProblemKind.WARNING
KILO = guinea_pig(1000)


def said_of(asked, key: str, case=KILO) -> str:
    return " ".join(each.message for each in prescribed(asked, case).problems if each.path.endswith(key))


@pytest.mark.parametrize(
    ("mg_per_kg", "strength", "says"),
    [
        (0.04, 0.9, False),  # 0.0444 ml → 0.04: exactly 10 % less
        (0.04, 0.89, True),  # 0.0449 ml → 0.04: 11 % less
        (0.11, 2.5, False),  # 0.044 ml → 0.04: 9.1 % less
    ],
)
def test_a_rounding_error_above_a_tenth_is_said(mg_per_kg, strength, says):
    asked = meloxicam(mg_per_kg, mg_per_ml=strength, syringe_ml=1)
    assert ("Rounding to the marks changes a dose" in said_of(asked, "syringe_ml")) is says


@pytest.mark.parametrize(
    ("mg_per_kg", "says"),
    [(0.01, False), (0.00995, True)],  # 0.02 ml is two marks; 0.0199 ml is under two and rounds to two
)
def test_under_two_marks_is_said(mg_per_kg, says):
    assert ("under two marks" in said_of(meloxicam(mg_per_kg, syringe_ml=1), "syringe_ml")) is says


@pytest.mark.parametrize(
    ("mg_per_kg", "size", "says"),
    [
        (0.5, 1, ""),  # 1.00 ml fills it
        (0.505, 1, "1.01 ml is more than one 1 ml syringe; a 2 ml syringe is better."),
        (12, None, "24 ml is more than one 20 ml syringe; a stronger liquid is better."),
    ],
)
def test_more_than_one_syringe_full_is_said_and_better_proposed(mg_per_kg, size, says):
    assert said_of(meloxicam(mg_per_kg, syringe_ml=size), "syringe_ml") == says


@pytest.mark.parametrize(
    ("mg_per_tablet", "says"),
    [
        (1.7, False),  # 1 mg: 1.176 halves → one: exactly 15 % less
        (1.69, True),  # 1.183 halves → one: 15.5 % less
        (1.75, False),  # 1.143 halves → one: 12.5 % less
    ],
)
def test_a_tablets_error_above_fifteen_per_cent_is_said(mg_per_tablet, says):
    asked = meloxicam(1, form=Form.TABLET, mg_per_ml=None, mg_per_tablet=mg_per_tablet)
    assert ("Rounding to parts of a tablet" in said_of(asked, "mg_per_tablet")) is says


@pytest.mark.parametrize(
    ("days", "given", "kinds"),
    [
        (1, (), set()),  # the first day may have 0.2
        (2, (), {WARNING}),  # the second may have 0.1
        (1, guinea_pig().given_in_clinic, {WARNING}),  # the first day was in the clinic
        (1, None, {WARNING}),  # or may have been
    ],
)
def test_only_the_first_day_of_a_course_may_have_the_larger_dose(days, given, kinds):
    asked = meloxicam(0.15, days=days)
    problems = prescribed(asked, guinea_pig(given_in_clinic=given)).problems
    assert {each.kind for each in problems if each.path.endswith("mg_per_kg")} == kinds


def test_rounding_never_passes_a_limit_that_needs_a_vet():
    # 833 g x 0.6 mg/kg / 0.5 mg/ml = 0.9996 ml; 1.0 ml would be 0.6002 mg/kg, above 0.6
    result = prescribed(meloxicam(0.6, syringe_ml=2), guinea_pig(833))
    assert {dose.ml for dose in result.medicine.doses} == {Decimal("0.9")}
    assert NEEDS_VET not in {each.kind for each in result.problems if each.path.endswith("mg_per_kg")}


def test_rounding_keeps_a_days_limit_also_where_its_doses_differ():
    # fresh, twice a day from 19:00: the first day has the loading dose alone, 833 g x 1.99 mg/kg / 0.5 mg/ml = 3.315 ml
    # to marks of 0.2 ml: 3.4 would be 2.04 mg/kg, above the hard limit of 2.0
    asked = meloxicam(0.1, first_mg_per_kg=1.99, every_hours=12, days=2, syringe_ml=5)
    case = guinea_pig(833, given_in_clinic=())
    doses = prescribed(asked, case).medicine.doses
    assert [dose.at.astimezone(case.hours.zone).hour for dose in doses] == [19, 7, 19, 7]
    assert doses[0].ml == Decimal("3.2")


def test_a_day_of_a_loading_dose_and_a_usual_one_is_shared_by_both():
    # the day's exact 1.5 + 0.5 = 2.0 mg/kg is the hard limit itself: neither may be rounded up
    early = guinea_pig(
        833, given_in_clinic=(), surgery_ended_at=at_ten(), discharged_at=at_ten() + dt.timedelta(days=1)
    )
    asked = meloxicam(0.5, first_mg_per_kg=1.5, every_hours=12, days=1, syringe_ml=2)
    case = replace(early, hours=replace(early.hours, sleeps=dt.time(23, 59)))
    one, two = prescribed(asked, case).medicine.doses
    assert one.at.astimezone(case.hours.zone).date() == two.at.astimezone(case.hours.zone).date()
    assert exact(one.ml or 0) + exact(two.ml or 0) <= Fraction("0.833") * 2 / Fraction("0.5")
    assert (one.ml, two.ml) == (Decimal("2.4"), Decimal("0.8"))  # 2.499 and 0.833 ml


def at_ten() -> dt.datetime:
    return dt.datetime(2025, 3, 10, 10, tzinfo=dt.UTC)


@pytest.mark.parametrize(("every", "hours"), [("8", 6), ("12", 11), ("24", 22), ("48", 46), ("72", 70)])
def test_the_least_time_between_two_doses(every, hours):
    assert least_spacing(Decimal(every)) == dt.timedelta(hours=hours)


@pytest.mark.parametrize(
    ("value", "places", "text"),
    [
        ("1/3", "0.01", "0.33"),
        ("5/2", "1", "2"),  # half to even
        ("7/2", "1", "4"),
        ("-1/8", "0.01", "-0.12"),
        ("1000000000000000000000000000000000001/10", "0.1", "100000000000000000000000000000000000.1"),  # however large
        ("0", "0.1", "0"),
    ],
)
def test_a_number_to_so_many_places(value, places, text):
    assert f"{decimal(Fraction(value), Decimal(places)):f}" == text
