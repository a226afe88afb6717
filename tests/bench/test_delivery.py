"""The arithmetic of the section on delivery: rates, tolls, and whose turn it is to answer."""

from __future__ import annotations

from collections import Counter, defaultdict

import pytest

from tests.bench.delivery.killing import counted
from tests.bench.delivery.sittings import turns
from tests.bench.delivery.speed import steady
from tests.faults.sinks.witness import Line


def line(key: str) -> Line:
    return Line(at=0, channel="email", key=key, to=f"due{key}@example.org", text="")


def test_what_never_came_is_lost_and_what_came_again_is_extra():
    toll = counted([line(key) for key in "aabccc"], 5, kills=2)

    assert (toll.sent, toll.lost, toll.extra, toll.most, toll.kills) == (5, 2, 3, 3, 2)


def test_when_nothing_came_all_is_lost():
    toll = counted([], 5, kills=1)

    assert (toll.lost, toll.extra, toll.most) == (5, 0, 0)


def test_the_rate_is_that_of_the_middle_half_so_a_slow_start_and_a_late_end_say_nothing():
    assert steady([-60, *(number / 10 for number in range(1, 7)), 900]) == pytest.approx(10)


def test_every_owner_answers_in_order_and_every_step_comes_as_often():
    posts = turns(1000, 11)
    of_owners = defaultdict(list)
    for owner, step in posts:
        of_owners[owner].append(step)

    assert len(posts) == 1000
    assert all(steps == list(range(steps[0], steps[0] + len(steps))) for steps in of_owners.values())
    often = Counter(step for _, step in posts[:990]).values()
    assert max(often) - min(often) <= 1
