"""Spans of time: whatever is asked of them is what a minute-by-minute look would say."""

from __future__ import annotations

import datetime as dt
import itertools
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from followup.domain.spans import Span, common, held, joined, passed, span, without

BEGINS = dt.datetime(2025, 3, 10, tzinfo=dt.UTC)
MINUTE = dt.timedelta(minutes=1)
LONDON = ZoneInfo("Europe/London")
SPANS = st.lists(
    st.tuples(st.integers(0, 100), st.integers(1, 30)).map(
        lambda each: Span(BEGINS + each[0] * MINUTE, BEGINS + (each[0] + each[1]) * MINUTE)
    ),
    max_size=6,
)
MINUTES = [BEGINS + number * MINUTE for number in range(135)]


@given(SPANS, SPANS)
def test_each_moment_is_where_it_belongs(some, others):
    for moment in MINUTES:
        here, there = held(some, moment), held(others, moment)
        assert held(joined(some), moment) is here
        assert held(common(some, others), moment) is (here and there)
        assert held(without(some, others), moment) is (here and not there)


@given(SPANS)
def test_joined_spans_are_in_order_and_never_touch(some):
    found = joined(some)

    assert all(a.ends < b.starts for a, b in itertools.pairwise(found))


@given(SPANS, st.integers(0, 130), st.integers(0, 60))
def test_time_that_has_passed_is_counted_within_the_spans_alone(some, since, wanted):
    begins = BEGINS + since * MINUTE
    found = passed(some, begins, wanted * MINUTE)
    lived = sum(held(some, moment) for moment in MINUTES if moment >= begins and (found is None or moment < found))

    assert lived == wanted if found is not None else lived < max(wanted, 1)


@pytest.mark.parametrize(
    ("starts", "ends"),
    [
        (BEGINS, BEGINS),
        (BEGINS + MINUTE, BEGINS),
        (BEGINS.astimezone(LONDON), (BEGINS + MINUTE).astimezone(LONDON)),
        (BEGINS.replace(tzinfo=None), BEGINS.replace(tzinfo=None) + MINUTE),
    ],
)
def test_what_could_be_measured_wrongly_is_no_span(starts, ends):
    with pytest.raises(ValueError, match="a span"):
        Span(starts, ends)


def test_local_times_are_measured_in_real_time():
    """The night in which the clocks go back, and the one in which they go forward."""
    back = span(dt.datetime(2025, 10, 25, 20, tzinfo=LONDON), dt.datetime(2025, 10, 26, 8, tzinfo=LONDON))
    forward = span(dt.datetime(2025, 3, 29, 20, tzinfo=LONDON), dt.datetime(2025, 3, 30, 8, tzinfo=LONDON))

    assert back is not None
    assert forward is not None
    assert (back.length, forward.length) == (dt.timedelta(hours=13), dt.timedelta(hours=11))


def test_nothing_lies_between_a_moment_and_an_earlier_one():
    assert span(BEGINS, BEGINS) is None
    assert span(BEGINS + MINUTE, BEGINS) is None
