"""A drawn syringe: its marks where that size has them, and the plunger at the dose."""

from __future__ import annotations

from decimal import Decimal

import pytest

from followup.domain.dosing import MARKS, NoSuchSyringe
from followup.services.syringe import BARREL, NUMBERED, syringe, syringes_of
from tests.recoveries import guinea_pig, meloxicam, prescribed


@pytest.mark.parametrize("size", list(MARKS))
def test_every_size_has_its_marks_from_nought_to_full(size):
    drawn = syringe(size, size)
    assert len(drawn.marks) == size / MARKS[size] + 1
    assert (drawn.marks[0].x, drawn.marks[-1].x, drawn.fill) == (0, BARREL, BARREL)
    assert drawn.marks[-1].label == f"{size.normalize():f}"
    assert [Decimal(mark.label) for mark in drawn.marks if mark.label] == [
        NUMBERED[size] * step for step in range(1, int(size / NUMBERED[size]) + 1)
    ]


@pytest.mark.parametrize(
    ("size", "ml", "fill"),
    [("1", "0.18", 36), ("1", "0.5", 100), ("2.5", "0.5", 40), ("5", "1.2", 48), ("20", "1", 10)],
)
def test_the_plunger_stands_at_the_dose(size, ml, fill):
    drawn = syringe(Decimal(size), Decimal(ml))
    assert drawn.fill == pytest.approx(fill)
    assert drawn.full == 0
    assert any(mark.x == pytest.approx(drawn.fill) for mark in drawn.marks)  # a dose is a whole number of marks


def test_half_way_marks_are_longer_than_the_rest():
    halves = [mark.x for mark in syringe(Decimal(1), Decimal("0.1")).marks if mark.half]
    assert halves[:2] == [10, 30]  # 0.05 and 0.15 ml


@pytest.mark.parametrize(("ml", "full", "fill"), [("1", 0, 200), ("1.2", 1, 40), ("2.5", 2, 100), ("2", 1, 200)])
def test_more_than_one_syringe_full(ml, full, fill):
    drawn = syringe(Decimal(1), Decimal(ml))
    assert drawn.full == full
    assert drawn.fill == pytest.approx(fill)


def test_a_size_that_is_not_sold_is_refused():
    with pytest.raises(NoSuchSyringe):
        syringe(Decimal(4), Decimal(1))


def test_one_drawing_for_each_volume_of_a_course():
    loading = prescribed(meloxicam(0.1, first_mg_per_kg=0.2), guinea_pig(given_in_clinic=())).medicine
    assert [drawn.amount for drawn in syringes_of(loading)] == ["0.36 ml", "0.18 ml"]
    assert syringes_of(prescribed(meloxicam()).medicine)[0].size == "1 ml"
