"""Where moments and days stand, in one strip and in several."""

from __future__ import annotations

import datetime as dt
from itertools import pairwise

import pytest

from followup.domain.hours import DAY
from followup.drawing.axis import APART, DAYS_IN_A_STRIP, LEFT, RIGHT, Axis, strips
from tests.recoveries import LONDON, at, guinea_pig

INNER = RIGHT - LEFT
CASE = guinea_pig()
ENDED = CASE.surgery_ended_at
HOUR = dt.timedelta(hours=1)


@pytest.mark.parametrize(
    ("hours", "x"), [(-1, LEFT), (0, LEFT), (12, LEFT + INNER / 4), (48, RIGHT), (49, RIGHT), (1, 15.2)]
)  # 344 / 48 = 7.17 an hour
def test_a_moment_stands_in_proportion_and_outside_the_span_at_its_edge(hours, x):
    assert Axis(ENDED, ENDED + 48 * HOUR).x(ENDED + hours * HOUR) == x


@pytest.mark.parametrize(
    ("starts", "ends", "part"),
    [
        (12, 24, (94.0, 86.0)),
        (-5, 12, (8.0, 86.0)),
        (36, 99, (266.0, 86.0)),
        (24, 24.01, (180.0, 1.0)),
        (-5, 0, None),
        (48, 50, None),
    ],
)
def test_of_a_bar_only_what_lies_inside_is_drawn_and_never_nothing_of_it(starts, ends, part):
    assert Axis(ENDED, ENDED + 48 * HOUR).part(ENDED + starts * HOUR, ENDED + ends * HOUR) == part


def test_days_begin_at_the_owners_midnight_also_when_the_clocks_change():
    case = guinea_pig(surgery_ended_at=dt.datetime(2025, 3, 29, 10, 30, tzinfo=LONDON))
    found = Axis(case.surgery_ended_at, case.surgery_ended_at + 71 * HOUR).days(case)
    assert [tick.label for tick in found] == ["0", "1", "2", "3"]
    assert found[2].x - found[1].x == pytest.approx(23 / 71 * INNER, abs=0.15)
    assert found[3].x - found[2].x == pytest.approx(24 / 71 * INNER, abs=0.15)


@pytest.mark.parametrize(("days", "last"), [(3, "3"), (14, "14"), (60, "60")])
def test_numbers_of_days_never_touch(days, last):
    labelled = [tick for tick in Axis(ENDED, ENDED + days * DAY + 8 * HOUR).days(CASE) if tick.label]
    assert all(b.label_x - a.label_x >= APART - 4 for a, b in pairwise(labelled))  # two digits are about 14 wide
    assert labelled[-1].label == last


@pytest.mark.parametrize(
    ("hours", "many", "days"),
    [(24, 1, None), (120, 1, None), (121, 2, 3), (8 * 24, 2, 5), (15 * 24, 4, 4), (60 * 24, 13, 5)],
)
def test_a_long_span_stands_in_strips_of_equally_many_whole_days(hours, many, days):
    """Surgery ends at 10:30, so 121 h touch six days: two strips of three."""
    found = strips(CASE, ENDED, ENDED + hours * HOUR)
    assert len(found) == many
    assert all(before.ends == after.starts for before, after in pairwise(found))
    assert found[0].starts <= ENDED < found[0].ends
    assert found[-1].starts < ENDED + hours * HOUR <= found[-1].ends
    if days is not None:
        assert {len(each.days(CASE)) for each in found} == {days}
        assert days <= DAYS_IN_A_STRIP


def test_strips_begin_at_the_owners_midnight():
    first, second = strips(CASE, ENDED, ENDED + 6 * DAY)
    assert first.starts == at("2025-03-10 00:00")
    assert second.starts == at("2025-03-14 00:00")
    assert [tick.label for tick in second.days(CASE)] == ["4", "5", "6", "7"]


def test_an_end_at_midnight_begins_no_strip_more():
    assert len(strips(CASE, ENDED, at("2025-03-20 00:00"))) == 2  # days 0 to 9
    assert len(strips(CASE, ENDED, at("2025-03-20 00:01"))) == 3
