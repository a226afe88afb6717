"""Lost to follow-up: nothing for 7 days and two calls failed. Clinical defaults, 5."""

from __future__ import annotations

import datetime as dt

import pytest

from followup.domain.lost import is_lost

HEARD = dt.datetime(2025, 3, 14, 18, 30, tzinfo=dt.UTC)
DAY = dt.timedelta(days=1)
MINUTE = dt.timedelta(minutes=1)


@pytest.mark.parametrize(
    ("calls", "after", "is_so"),
    [
        ([2, 3], 7 * DAY, True),
        ([2, 3], 7 * DAY - MINUTE, False),
        ([2], 30 * DAY, False),
        ([], 30 * DAY, False),
        ([-1, 3], 8 * DAY, False),  # one call failed before the last word
        ([2, 9], 8 * DAY, False),  # the second one has not been made yet
        ([2, 3, 4], 8 * DAY, True),
    ],
)
def test_a_week_and_two_calls(calls, after, is_so):
    assert is_lost(HEARD, [HEARD + day * DAY for day in calls], HEARD + after) is is_so
