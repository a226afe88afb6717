"""Volumes of oral meloxicam that product information prints, against ours.

P: EU and UK product information, meloxicam 0.5 mg/ml for cats and guinea pigs: 0.4, 0.2 and 0.1 ml
per kg for 0.2, 0.1 and 0.05 mg/kg.
P: product information, meloxicam 1.5 mg/ml for dogs: a dog of 10 kg, 1.33 ml on the first
day, 0.667 ml then.
P: carprofen 50 mg/ml: 1.00 ml for a dog of 12.5 kg, 0.24 ml for a cat of 3.0 kg (both 4 mg/kg).
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from followup.domain.case import Patient
from followup.domain.dosing import to_steps
from followup.domain.exact import decimal, exact
from followup.domain.terms import Species
from tests.recoveries import guinea_pig, meloxicam, prescribed


@pytest.mark.parametrize(
    ("species", "mg_per_kg", "ml_per_kg"),
    [("guinea_pig", 0.2, "0.4"), ("guinea_pig", 0.1, "0.2"), ("cat", 0.05, "0.1")],
)
def test_half_a_milligram_per_ml(species, mg_per_kg, ml_per_kg):
    case = guinea_pig(patient=Patient(Species(species), 1000))
    doses = prescribed(meloxicam(mg_per_kg), case).medicine.doses
    assert {dose.ml for dose in doses} == {Decimal(ml_per_kg)}


def test_a_dog_of_ten_kilograms():
    dog = guinea_pig(patient=Patient(Species.DOG, 10_000, age_months=30), given_in_clinic=())
    asked = meloxicam(0.1, first_mg_per_kg=0.2, mg_per_ml=1.5)
    first, then = (exact(dose.mg or 0) / exact(1.5) for dose in prescribed(asked, dog).medicine.doses)
    assert decimal(first, Decimal("0.01")) == Decimal("1.33")  # 10 kg x 0.2 mg/kg / 1.5 mg/ml
    assert decimal(then, Decimal("0.001")) == Decimal("0.667")


@pytest.mark.parametrize(("kg", "ml"), [("12.5", "1.00"), ("3.0", "0.24")])
def test_carprofen_injection(kg, ml):
    rounded = to_steps(Fraction(kg) * 4 / 50, Fraction("0.01"))
    assert (rounded.amount, rounded.error) == (Fraction(ml), Fraction(0))
