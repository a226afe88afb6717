"""Where weighings, lines and their names stand."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise

import pytest

from followup.drawing.weight import (
    FLOOR,
    HEIGHT,
    NAMES_APART,
    PLOT_RIGHT,
    TOP,
    Limit,
    Weighing,
    WeightDrawing,
    draw_weight,
)
from tests.recoveries import at, guinea_pig

CASE = guinea_pig()
LIMITS = [Limit(kind, Decimal(grams)) for kind, grams in
          (("discharge", 900), ("monitor", 855), ("urgent", 810), ("emergency", 765))]  # fmt: skip


def weighed(text: str, grams: float, *, at_home: bool = True) -> Weighing:
    return Weighing(at(f"2025-03-{text}"), Decimal(str(grams)), at_home)


def drawn(*points: Weighing, limits=LIMITS) -> WeightDrawing:
    return draw_weight(CASE, limits, points, until=at("2025-03-24 10:00"))


def test_the_lines_stand_in_proportion():
    """751.5 to 913.5 g over 164 units: 45 g are 45.6."""
    assert [(each.kind, each.y) for each in drawn().levels] == [
        ("discharge", 25.7), ("monitor", 71.2), ("urgent", 116.8), ("emergency", 162.3),
    ]  # fmt: skip


def test_a_species_without_an_emergency_has_no_such_line():
    assert [each.kind for each in drawn(limits=LIMITS[:3]).levels] == ["discharge", "monitor", "urgent"]


@pytest.mark.parametrize("grams", [100, 500, 765, 899, 901, 2000, 9000])
def test_names_keep_apart_and_inside_however_the_lines_are_squeezed(grams):
    """A slip in a weight squeezes the lines together; the first at home may lie on any of them."""
    limits = [*LIMITS, Limit("home", Decimal(grams))]
    names = [each.name_y for each in drawn(weighed("12 08:00", grams), limits=limits).levels]
    assert all(b - a >= NAMES_APART - 0.11 for a, b in pairwise(names))
    assert names[0] >= 12
    assert names[-1] <= HEIGHT - 4


def test_names_stand_beside_their_lines_where_there_is_room():
    assert all(each.name_y - each.y == pytest.approx(4, abs=0.1) for each in drawn().levels)


def test_names_are_in_the_order_of_their_lines():
    levels = drawn(limits=[*LIMITS, Limit("home", Decimal(880))]).levels
    assert [each.kind for each in levels] == ["discharge", "home", "monitor", "urgent", "emergency"]


def test_a_weighing_on_a_line_stands_on_it():
    shown = drawn(weighed("12 08:00", 855))
    assert shown.points[0].y == shown.levels[1].y


def test_a_lighter_animal_stands_lower_and_a_later_day_further_right():
    first, second = drawn(weighed("11 08:00", 890), weighed("12 08:00", 850)).points
    assert (first.y < second.y, first.x < second.x) == (True, True)


@pytest.mark.parametrize("grams", [1, 700, 5000])
def test_every_weight_is_inside(grams):
    (point,) = drawn(weighed("12 08:00", grams)).points
    assert TOP < point.y < FLOOR


def test_the_path_joins_them_and_one_alone_has_none():
    shown = drawn(weighed("11 08:00", 890), weighed("12 08:00", 850))
    assert shown.path == "M{0.x} {0.y} L{1.x} {1.y}".format(*shown.points)
    assert (drawn(weighed("11 08:00", 890)).path, drawn().path) == ("", "")


def test_where_it_was_weighed_is_kept():
    points = drawn(weighed("10 16:30", 900, at_home=False), weighed("11 08:00", 880)).points
    assert [point.at_home for point in points] == [False, True]


def test_a_weighing_after_the_end_is_still_in_the_picture_and_left_of_the_names():
    (point,) = drawn(weighed("29 08:00", 900)).points
    assert 200 < point.x < PLOT_RIGHT


def test_equal_weights_alone_are_no_division_by_nothing():
    (point,) = drawn(weighed("11 08:00", 900), limits=LIMITS[:1]).points
    assert point.y == (TOP + FLOOR) / 2
