"""Resting energy, 70 x kg^0.75 kcal a day.

P: Small Animal Clinical Nutrition, 5th edition, table 5-2, at five printed weights.
"""

from __future__ import annotations

import pytest

from followup.domain.going_home import resting_energy


@pytest.mark.parametrize(("kg", "kcal"), [(2, 118), (5, 234), (10, 394), (20, 662), (30, 897)])
def test_resting_energy(kg, kcal):
    assert round(resting_energy(kg * 1000)) == kcal


@pytest.mark.parametrize("kg", [2, 5, 10, 20, 30])
def test_two_formulas_that_public_pages_misprint_give_something_else(kg):
    """From memory of such pages: the power written as a factor, and the linear form (30 x kg + 70) with its numbers

    exchanged. Neither may stand in for the table.
    """
    table = float(resting_energy(kg * 1000))

    assert abs(70 * kg * 0.75 - table) / table > 0.1
    assert abs(70 * kg + 30 - table) / table > 0.4
