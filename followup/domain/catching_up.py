"""How fast owners are written to after sending was down: slowly at first, so that no provider and no desk is flooded.

All figures are ours, without a source.
"""

from __future__ import annotations

import datetime as dt

FIRST_RATE, TOP_RATE = 1.0, 7.0
"""Messages a second, to all owners together, at first and at most."""
RAMP = dt.timedelta(minutes=6)
"""So long it takes from the one to the other: one more a second with each minute."""
AT_ONCE = 20.0
"""Seconds whose messages may go at once: ticks come every 15 s. What was not used longer ago is over."""
MOST_A_MINUTE = 600
"""Never more than this in any minute: ten a second. TOP_RATE leaves room for what goes at once."""
BETWEEN_TWO = dt.timedelta(minutes=30)
"""From one message to an owner to the next."""


def rate(since: dt.timedelta) -> float:
    """Messages a second, so long after sending came back."""
    share = min(max(since / RAMP, 0.0), 1.0)
    return FIRST_RATE + (TOP_RATE - FIRST_RATE) * share


def allowed(since: dt.timedelta) -> int:
    """How many messages may have gone in all, so long after sending came back. Never falls as time passes."""
    passed = max(since.total_seconds(), 0.0)
    ramped = min(passed, RAMP.total_seconds())
    on_the_ramp = ramped * (FIRST_RATE + rate(dt.timedelta(seconds=ramped))) / 2
    return int(at_once(dt.timedelta(0)) + on_the_ramp + TOP_RATE * (passed - ramped))


def at_once(since: dt.timedelta) -> int:
    """How many may go at one moment, when none went for a while."""
    return int(rate(since) * AT_ONCE)


def used_or_over(since: dt.timedelta, used: int) -> int:
    """What of `allowed` cannot be used any more: it was, or it lies too far back."""
    return max(used, allowed(since) - at_once(since))


def left(since: dt.timedelta, used: int) -> int:
    """How many may go now."""
    return max(allowed(since) - used_or_over(since, used), 0)
