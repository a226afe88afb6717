"""What was told of a dose, as the fact that triage weighs."""

from __future__ import annotations

from decimal import Decimal

import pytest

from followup.domain.observation import DoseReport, OtherMedicine
from followup.domain.terms import DoseOutcome
from followup.domain.told_dose import Tale, Told, facts_of_tale, outcome_of
from tests.domain.triage_cases import when
from tests.recoveries import meloxicam, prescribed

MEDICINE = prescribed(meloxicam()).medicine
DOSE = MEDICINE.doses[0]
"""0.18 ml of 0.5 mg/ml."""

AT = when("11 10:00")


def fact(told: Told, ml: str = "", strength: str = "") -> DoseReport:
    tale = Tale(told, AT, Decimal(ml) if ml else None, Decimal(strength) if strength else None)
    found = facts_of_tale(tale, MEDICINE, DOSE)
    assert isinstance(found, DoseReport)
    return found


@pytest.mark.parametrize(
    ("told", "ml", "strength", "as_planned"),
    [
        (Told.GIVEN, "", "", None),  # what was planned
        (Told.TOO_MUCH, "0.3", "", 0.3),
        (Told.TOO_MUCH, "", "", None),  # nobody knows how much
        (Told.TOO_MUCH, "0.1", "", None),  # less than planned: nobody knows what was meant
        (Told.TWICE, "", "", 0.36),
        (Told.TWICE, "0.2", "", 0.4),
        (Told.WRONG_BOTTLE, "", "1.5", 0.54),  # the stronger one, the same mark
        (Told.WRONG_BOTTLE, "0.1", "1.5", 0.3),
        (Told.WRONG_BOTTLE, "", "0.25", None),  # a weaker one: not too much, and still wrong
        (Told.WRONG_BOTTLE, "", "", None),
    ],
)
def test_what_went_in_is_told_as_ml_of_the_strength_that_is_on_the_plan(told, ml, strength, as_planned):
    assert fact(told, ml, strength).ml == as_planned


def test_into_the_lungs_and_to_another_animal_are_the_wrong_place():
    assert {told for told in Told if told is not Told.OTHER_MEDICINE and fact(told).route_wrong} == {
        Told.INTO_THE_LUNGS,
        Told.TO_ANOTHER_ANIMAL,
    }


def test_what_may_have_gone_in_has_its_time():
    went_in = {told for told in Told if told is not Told.OTHER_MEDICINE and fact(told).given_at == AT}
    assert went_in == {Told.GIVEN, Told.TOO_MUCH, Told.TWICE, Told.WRONG_BOTTLE}


def test_another_medicine_says_nothing_of_the_planned_dose():
    tale = Tale(Told.OTHER_MEDICINE, AT, what="aspirin")
    assert outcome_of(tale) is None
    assert facts_of_tale(tale, MEDICINE, DOSE) == OtherMedicine("aspirin", at=AT)


@pytest.mark.parametrize("told", [told for told in Told if told.went_wrong and told is not Told.OTHER_MEDICINE])
def test_a_mishap_is_one_whatever_it_was(told):
    assert outcome_of(Tale(told, AT)) is DoseOutcome.WENT_WRONG
