"""Shares with Wilson's limits, and weighted kappa, against sums done by hand and published figures."""

from __future__ import annotations

import pytest

from followup.domain.agreement import Share, agreements, higher, lower, weighted_kappa
from followup.domain.terms import Level

ON_TRACK, MONITOR, URGENT, EMERGENCY = Level


@pytest.mark.parametrize(
    ("count", "of", "limits"),
    [
        (0, 10, (0.0, 0.2775)),  # upper: z² / (n + z²) = 3.8415 / 13.8415
        (10, 10, (0.7225, 1.0)),  # its mirror
        (5, 10, (0.2366, 0.7634)),  # middle 0.5; half = 1.96 x sqrt(0.025 + 0.0096) / 1.384
        (81, 263, (0.2553, 0.3662)),  # Newcombe 1998, Statistics in Medicine 17: 857, table I, method 3 (M)
        (15, 148, (0.0624, 0.1605)),  # the same table
    ],
)
def test_the_limits_of_a_share(count, of, limits):
    assert Share(count, of).limits == pytest.approx(limits, abs=0.00005)


def test_none_of_none_has_no_limits():
    assert Share(0, 0).limits is None


def test_a_table_is_split_into_same_missed_and_false_alarms():
    table = {(URGENT, URGENT): 5, (MONITOR, URGENT): 2, (MONITOR, EMERGENCY): 1, (EMERGENCY, ON_TRACK): 2}

    assert (agreements(table), lower(table), higher(table)) == (Share(5, 10), Share(3, 10), Share(2, 10))


def test_kappa_weighs_two_levels_twice_as_much_as_one():
    """Firsts: urgent 3, monitor 2; seconds: urgent 2, monitor 1, on track 2.

    Seen: monitor, on track 1 · urgent, on track 2: in all 3 of 5.
    By chance: urgent with monitor 3 x 1 x 1, with on track 3 x 2 x 2; monitor with urgent 2 x 2 x 1, with on track
    2 x 2 x 1: 3 + 12 + 4 + 4 = 23 of 25. Kappa = 1 - (3 / 5) / (23 / 25) = 1 - 15 / 23 = 8/23.
    """
    table = {(URGENT, URGENT): 2, (MONITOR, MONITOR): 1, (MONITOR, ON_TRACK): 1, (URGENT, ON_TRACK): 1}

    assert weighted_kappa(table) == pytest.approx(8 / 23)


def test_kappa_at_its_ends():
    assert weighted_kappa({(level, level): 5 for level in Level}) == 1
    chance = {(first, second): 3 for first in (MONITOR, URGENT) for second in (MONITOR, URGENT)}
    assert weighted_kappa(chance) == pytest.approx(0)
    assert weighted_kappa({(URGENT, URGENT): 9}) is None
    assert weighted_kappa({}) is None
