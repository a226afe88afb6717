"""The short form of the trials, which runs with every change, and the long form, whose figures README shows."""

from __future__ import annotations

import os
from typing import TypeVar

T = TypeVar("T")
LONG = os.environ.get("FAULTS") == "long"
PACE = 5 if LONG else 20
"""By what leases, waits and time-outs are divided: as they are, the long form would take two hours."""


def sized(short: int, long: int) -> int:
    """A number of messages, kills or rounds for the form that runs."""
    return long if LONG else short


SEEDED = "due "
"""How the keys of the messages begin that a trial has put into the outbox."""
SQLITE, POSTGRES = "sqlite", "postgres"


def also(*more: T) -> list[T]:
    """Other shapes of the same trial: in the long form only."""
    return list(more) if LONG else []


def databases(short: str) -> list[str]:
    """Both in the long form, one of them in the short."""
    return [SQLITE, POSTGRES] if LONG else [short]
