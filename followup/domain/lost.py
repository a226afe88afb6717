"""Lost to follow-up: counted as such, never as well. Source: clinical defaults, 5; evidence, C-9 (assumed)."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

NOTHING_FOR = dt.timedelta(days=7)
"""So long without a word."""

CALLS_FAILED = 2
"""So many calls that nobody answered, since the last word."""


def is_lost(heard_at: dt.datetime, calls_failed: Sequence[dt.datetime], now: dt.datetime) -> bool:
    """Whether a person may call the patient lost: silent for a week, and two calls failed since the last word."""
    since = [at for at in calls_failed if heard_at < at <= now]
    return now - heard_at >= NOTHING_FOR and len(since) >= CALLS_FAILED
