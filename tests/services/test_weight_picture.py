"""Where weighings and limits stand in the picture of the weight, and that the table says the same."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise

import pytest

from clinic.models import Weight
from followup.domain.compiled import CompiledPlan
from followup.domain.observation import Observation
from followup.services.weight_picture import (
    FLOOR,
    LABEL_APART,
    TOP,
    Weighing,
    WeightPicture,
    weighings,
    weight_picture,
)
from tests.recoveries import at, guinea_pig, plan_of

CASE = guinea_pig()
"""900 g at discharge: 855 monitor, 810 urgent, 765 emergency."""


def plan() -> CompiledPlan:
    return plan_of(CASE)


def weighed(text: str, grams: float, *, at_home: bool = True) -> Weighing:
    return Weighing(at(f"2025-03-{text}"), Decimal(str(grams)), at_home)


def drawn(*points: Weighing) -> WeightPicture:
    return weight_picture(CASE, plan(), points)


def test_the_lines_stand_in_their_order_and_in_proportion():
    levels = drawn().levels
    assert [(each.name, each.grams) for each in levels] == [
        ("at discharge", "900 g"),
        ("monitor", "855 g"),
        ("urgent", "810 g"),
        ("emergency", "765 g"),
    ]
    steps = [b.y - a.y for a, b in pairwise(levels)]
    assert max(steps) - min(steps) <= 0.2  # the same 45 g each
    assert levels[0].y > TOP
    assert levels[-1].y < FLOOR


def test_labels_of_near_lines_are_moved_apart():
    labels = [each.label_y for each in drawn(weighed("12 08:00", 2000)).levels]
    assert all(b - a >= LABEL_APART - 0.1 for a, b in pairwise(labels))


def test_a_lighter_animal_stands_lower_and_a_later_day_further_right():
    points = drawn(weighed("11 08:00", 890), weighed("12 08:00", 850)).points
    assert points[0].y < points[1].y
    assert points[0].x < points[1].x


def test_a_weighing_on_a_line_stands_on_it():
    shown = drawn(weighed("12 08:00", 855))
    assert shown.points[0].y == shown.levels[1].y


@pytest.mark.parametrize(
    ("grams", "change", "level"),
    [(900, "0 %", ""), (856, "-4.9 %", ""), (855, "-5.0 %", "monitor"), (810, "-10.0 %", "urgent"),
     (765, "-15.0 %", "emergency"), (918, "+2.0 %", "")],
)  # fmt: skip
def test_the_table_says_what_is_reached_at_the_value_itself(grams, change, level):
    (row,) = drawn(weighed("12 08:00", grams)).rows
    assert (row.day, row.grams, row.change, row.level, row.where) == (2, str(grams), change, level, "home")


def test_where_it_was_weighed_is_a_shape():
    points = drawn(weighed("10 16:30", 900, at_home=False), weighed("11 08:00", 880)).points
    assert [point.at_home for point in points] == [False, True]


def test_weighings_before_the_operation_are_another_story():
    old, new = Weight(grams=700, at=at("2025-01-10 09:00")), Weight(grams=900, at=at("2025-03-10 16:30"))
    home = Observation(at=at("2025-03-11 08:00"), weight_g=880.5)
    found = weighings(CASE, [new, old], [home, Observation(at=at("2025-03-11 09:00"))])
    assert [(each.grams, each.at_home) for each in found] == [(900, False), (Decimal("880.5"), True)]


def test_the_path_joins_them():
    shown = drawn(weighed("11 08:00", 890), weighed("12 08:00", 850))
    assert shown.path == f"M{shown.points[0].x} {shown.points[0].y} L{shown.points[1].x} {shown.points[1].y}"


def test_words_for_who_does_not_see_it():
    assert drawn().description.startswith("Not weighed since the operation.")
    said = drawn(weighed("12 08:00", 800)).description
    assert "Newest: 800 g on day 2, home, -11.1 % against the discharge, urgent." in said


def test_a_weighing_after_the_end_is_still_in_the_picture():
    points = drawn(weighed("29 08:00", 900)).points
    assert points[0].x < 352
