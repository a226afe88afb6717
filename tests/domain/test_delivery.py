"""What follows from a try at sending, for every outcome; waits that grow, end, and never pass the end."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from followup.domain.delivery import (
    FIRST_WAIT,
    LEAST_JITTER,
    LONGEST_SHUT,
    LONGEST_WAIT,
    MOST_JITTER,
    Fate,
    Outcome,
    Tried,
    fate_of,
    shut_for,
    wait_before,
    waits_for_its_channel,
)

ATTEMPTS = st.integers(1, 60)
JITTER = st.floats(LEAST_JITTER, MOST_JITTER)
TRIES = st.builds(
    Tried,
    outcome=st.sampled_from(Outcome),
    attempts=ATTEMPTS,
    most_attempts=st.integers(1, 60),
    unknown=st.integers(0, 4),
    whole_channel=st.booleans(),
    to_staff=st.booleans(),
    patient=st.booleans(),
)


@pytest.mark.parametrize(
    ("tried", "fate"),
    [
        (Tried(Outcome.OK, 6, 6), Fate.SENT),
        (Tried(Outcome.PERMANENT, 1, 6), Fate.FAILED),
        (Tried(Outcome.TRANSIENT, 5, 6), Fate.AGAIN),
        (Tried(Outcome.TRANSIENT, 6, 6), Fate.FAILED),
        (Tried(Outcome.TRANSIENT, 6, 6, whole_channel=True), Fate.AGAIN),
        (Tried(Outcome.TRANSIENT, 6, 6, whole_channel=True, patient=False), Fate.FAILED),
        (Tried(Outcome.CONFIG, 6, 6), Fate.AGAIN),
        (Tried(Outcome.UNKNOWN, 1, 6, unknown=1), Fate.AGAIN),
        (Tried(Outcome.UNKNOWN, 2, 6, unknown=2), Fate.PARKED),
        (Tried(Outcome.UNKNOWN, 2, 6, unknown=2, to_staff=True), Fate.FAILED),
    ],
)
def test_the_fate_of_a_message(tried, fate):
    assert fate_of(tried) is fate


@given(TRIES)
def test_an_alert_is_never_parked_and_only_an_unknown_outcome_parks_anything(tried):
    if fate_of(tried) is Fate.PARKED:
        assert not tried.to_staff
        assert tried.outcome is Outcome.UNKNOWN


@given(TRIES)
def test_only_what_went_out_is_sent_and_what_waits_for_its_channel_never_fails(tried):
    assert (fate_of(tried) is Fate.SENT) == (tried.outcome is Outcome.OK)
    if waits_for_its_channel(tried):
        assert fate_of(tried) is Fate.AGAIN


@given(ATTEMPTS, JITTER)
def test_waits_grow_to_a_quarter_of_an_hour_within_half_as_much_more_or_less(attempts, jitter):
    wait, plain = wait_before(attempts, jitter=jitter), wait_before(attempts, jitter=1)

    assert FIRST_WAIT <= plain <= LONGEST_WAIT
    assert plain * LEAST_JITTER <= wait <= plain * MOST_JITTER
    assert wait_before(attempts + 1, jitter=1) >= plain


@given(st.integers(0, 100), st.sampled_from([Outcome.TRANSIENT, Outcome.CONFIG]))
def test_a_channel_is_shut_for_longer_with_each_failure_and_never_for_more_than_the_longest(failures, outcome):
    span, more = shut_for(failures, outcome), shut_for(failures + 1, outcome)

    assert span is None or (more is not None and span <= more <= LONGEST_SHUT)


def test_a_channel_is_shut_after_three_failures_and_a_wrong_set_up_after_one():
    assert [shut_for(each, Outcome.TRANSIENT) is not None for each in (1, 2, 3)] == [False, False, True]
    assert shut_for(1, Outcome.CONFIG) == dt.timedelta(minutes=1)
