"""What follows from one try at sending a message, and when the next try comes.

Source of the figures: common practice of durable outboxes, no source; an alert is never parked, and goes to the next
channel and person at once: clinical defaults, 13 (D).
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import Enum, StrEnum

LEASE = dt.timedelta(seconds=90)
"""Above the 40 s that one send may take in all, with room."""
TRUSTED_FOR = 0.75
"""The part of its lease for which a worker believes, by its own monotonic clock, that the message is still its own."""
FIRST_WAIT = dt.timedelta(seconds=30)
LONGEST_WAIT = dt.timedelta(minutes=15)
LEAST_JITTER, MOST_JITTER = 0.5, 1.5
MOST_UNKNOWN = 2
"""Sends of one message of which nobody knows whether they went out: one is tried again, after two a person looks."""
MOST_WAITS_OF_ADVICE = 2
"""Tries by a channel that is down, after which advice goes by the other one."""
SHUT_AFTER = 3
"""Tries in a row at which a whole channel failed, from which on it is left alone for a while."""
FIRST_SHUT = dt.timedelta(minutes=1)
LONGEST_SHUT = dt.timedelta(minutes=15)


class Outcome(StrEnum):
    """What is known after a try. Unknown: it may have gone out, so it is tried once more and then a person looks."""

    OK = "ok"
    TRANSIENT = "transient"
    PERMANENT = "permanent"
    UNKNOWN = "unknown"
    CONFIG = "config"


class Fate(Enum):
    """What becomes of the message. Failed: the next way is tried, else a person is called; parked: a person looks."""

    SENT = "sent"
    AGAIN = "again"
    FAILED = "failed"
    PARKED = "parked"


@dataclass(frozen=True)
class Tried:
    """One try. `attempts` and `unknown` count it in; `whole_channel`: nothing at all gets through this way at present.

    `patient`: the message would rather wait for its channel than count its tries (neither advice nor alert).
    `other_way`: the same person can be reached by a medium that was not tried yet.
    """

    outcome: Outcome
    attempts: int
    most_attempts: int
    unknown: int = 0
    whole_channel: bool = False
    to_staff: bool = False
    patient: bool = True
    other_way: bool = False


SETTLED = {Outcome.OK: Fate.SENT, Outcome.PERMANENT: Fate.FAILED}


def fate_of(tried: Tried) -> Fate:
    """What becomes of a message after this try."""
    if tried.outcome is Outcome.UNKNOWN:
        at_the_end = Fate.FAILED if tried.to_staff else Fate.PARKED
        return Fate.AGAIN if tried.unknown < MOST_UNKNOWN else at_the_end
    spent = tried.attempts >= tried.most_attempts and not waits_for_its_channel(tried)
    spent = spent or _goes_by_the_other(tried)
    return SETTLED.get(tried.outcome, Fate.FAILED if spent else Fate.AGAIN)


def _goes_by_the_other(tried: Tried) -> bool:
    """Whether advice, twice refused by a channel that is down, does not wait for it any longer."""
    return tried.other_way and tried.whole_channel and not tried.patient and tried.attempts >= MOST_WAITS_OF_ADVICE


def waits_for_its_channel(tried: Tried) -> bool:
    """Whether this try was no fault of the message and does not count: its channel as a whole is down."""
    at_fault = tried.whole_channel or tried.outcome is Outcome.CONFIG
    return at_fault and tried.patient and tried.outcome in {Outcome.TRANSIENT, Outcome.CONFIG}


def wait_before(attempts: int, *, jitter: float) -> dt.timedelta:
    """How long the next try waits: half a minute, doubled each time, at most a quarter of an hour; times `jitter`."""
    doubled: dt.timedelta = FIRST_WAIT * 2 ** min(max(attempts, 1) - 1, 10)
    return min(doubled, LONGEST_WAIT) * jitter


def shut_for(failures: int, outcome: Outcome) -> dt.timedelta | None:
    """How long a channel is left alone after this many failures in a row; None: not yet.

    A wrong set-up mends itself for nobody: the first refusal is enough.
    """
    enough = 1 if outcome is Outcome.CONFIG else SHUT_AFTER
    if failures < enough:
        return None
    doubled: dt.timedelta = FIRST_SHUT * 2 ** min(failures - enough, 10)
    return min(doubled, LONGEST_SHUT)
