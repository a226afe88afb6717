"""How fast owners are written to after an outage."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from followup.domain.catching_up import MOST_A_MINUTE, RAMP, TOP_RATE, allowed, at_once, left, rate, used_or_over

SECOND = dt.timedelta(seconds=1)
MINUTE = 60 * SECOND
spans = st.integers(0, 3 * 24 * 3600).map(lambda seconds: seconds * SECOND)


@pytest.mark.parametrize(
    ("since", "a_second", "in_all", "together"),
    [
        (0 * SECOND, 1, 20, 20),
        (1 * SECOND, 1 + 1 / 60, 21, 20),
        (MINUTE, 2, 20 + 90, 40),
        (RAMP, 7, 20 + 4 * 360, 140),
        (RAMP + MINUTE, 7, 20 + 4 * 360 + 420, 140),
        (-MINUTE, 1, 20, 20),  # a clock that was set back
    ],
)
def test_one_a_second_at_first_one_more_with_each_minute_seven_at_most(since, a_second, in_all, together):
    assert rate(since) == pytest.approx(a_second)
    assert allowed(since) == in_all
    assert at_once(since) == together


@given(spans, spans)
def test_what_is_allowed_never_falls(one, other):
    assert allowed(min(one, other)) <= allowed(max(one, other))


@given(spans, st.integers(0, 10**7))
def test_what_may_go_is_never_more_than_goes_at_once_and_never_less_than_nothing(since, used):
    assert 0 <= left(since, used) <= at_once(since) <= 20 * TOP_RATE
    assert used_or_over(since, used) >= used


def test_an_hour_of_quiet_saves_nothing_up():
    assert left(60 * MINUTE, 0) == left(2 * 60 * MINUTE, 0) == 140


@given(st.lists(st.tuples(st.integers(0, 90), st.integers(0, 1000)), min_size=1, max_size=60))
def test_in_no_minute_go_more_than_ten_a_second_however_ticks_come_and_whatever_waits(ticks):
    now, used, went = dt.timedelta(0), 0, list[tuple[dt.timedelta, int]]()
    for pause, waiting in ticks:
        now += pause * SECOND
        going = min(waiting, left(now, used))
        used = used_or_over(now, used) + going
        went.append((now, going))

    for began, _ in went:
        assert sum(number for at, number in went if began <= at < began + MINUTE) <= MOST_A_MINUTE


def test_two_thousand_are_through_in_ten_minutes():
    used, waiting, now = 0, 2000, dt.timedelta(0)
    while waiting:
        going = min(waiting, left(now, used))
        used, waiting = used_or_over(now, used) + going, waiting - going
        now += 15 * SECOND

    assert 5 * MINUTE < now < 10 * MINUTE
