"""The label's course of meloxicam 0.5 mg/ml in guinea pigs.

M: EU and UK product information: 0.2 mg/kg on the day of surgery, then 0.1 mg/kg once a
day; 3 doses in all.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from tests.recoveries import guinea_pig, plan_of


@pytest.mark.parametrize(
    ("grams", "first", "then"),
    [
        (450, "0.18", "0.09"),  # 0.45 kg x 0.2 mg/kg / 0.5 mg/ml = 0.18 ml
        (600, "0.24", "0.12"),
        (850, "0.34", "0.17"),
        (900, "0.36", "0.18"),
        (1200, "0.48", "0.24"),
    ],
)
def test_three_doses_in_all(grams, first, then):
    all_at_home = plan_of(guinea_pig(grams, given_in_clinic=())).medication[0]
    assert [dose.ml for dose in all_at_home.doses] == [Decimal(first), Decimal(then), Decimal(then)]
    assert {dose.rounding_error for dose in all_at_home.doses} == {Decimal(0)}

    after_the_clinics = plan_of(guinea_pig(grams)).medication[0]
    assert [dose.ml for dose in after_the_clinics.doses] == [Decimal(then), Decimal(then)]
    assert after_the_clinics.syringe_ml == 1
