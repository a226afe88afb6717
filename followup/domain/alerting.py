"""The steps of an alert, from the flag's moment on. Source: clinical defaults, 13 (D)."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import TypeVar

STEPS = (dt.timedelta(0), dt.timedelta(minutes=5), dt.timedelta(minutes=15), dt.timedelta(minutes=30))
"""First channel; every channel; the next person as well; everyone on the rota."""
THEN_EVERY = dt.timedelta(minutes=15)
NO_OUTCOME_FOR = dt.timedelta(minutes=30)
EVERY_CHANNEL, NEXT_PERSON, EVERYONE = 1, 2, 3

Person = TypeVar("Person")


def next_alert(began: dt.datetime, step: int, now: dt.datetime) -> dt.datetime:
    """When step number `step` (from 0) is due; a step that was missed is taken at once, never before `now`."""
    extra = max(step - len(STEPS) + 1, 0)
    due = began + STEPS[min(step, len(STEPS) - 1)] + extra * THEN_EVERY
    return max(due, now)


def whom_to_alert(rota: Sequence[Person], step: int) -> tuple[tuple[Person, bool], ...]:
    """Who is alerted at `step`, and whether by every channel."""
    if step >= EVERYONE:
        return tuple((person, True) for person in rota)
    how_many = 2 if step >= NEXT_PERSON else 1
    return tuple((person, step >= EVERY_CHANNEL) for person in rota[:how_many])
