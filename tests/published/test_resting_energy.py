"""Resting energy, 70 x kg^0.75 kcal a day.

P: Small Animal Clinical Nutrition, 5th edition, table 5-2, at five printed weights.
"""

from __future__ import annotations

import pytest

from followup.domain.going_home import resting_energy


@pytest.mark.parametrize(("kg", "kcal"), [(2, 118), (5, 234), (10, 394), (20, 662), (30, 897)])
def test_resting_energy(kg, kcal):
    assert round(resting_energy(kg * 1000)) == kcal
