"""What a trial came to: what was promised, beside what the sinks wrote down."""

from __future__ import annotations

import datetime as dt
import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tests.faults.sinks.witness import Line, copies

WAKES, SLEEPS = 7, 22
"""Hours between which an invented owner may be written to (tests/world.py)."""


@dataclass(frozen=True)
class Promise:
    """One row of the outbox to an owner. Rows with the same `chain` stand for one another: one of them is enough.

    `key`: its Message-ID, by which the sinks know it. `handed_over`: it ended with a task for staff.
    """

    chain: str
    key: str
    channel: str
    due_at: dt.datetime
    state: str
    handed_over: bool

    @property
    def dropped(self) -> bool:
        """Whether it was left unsent on purpose."""
        return self.state in {"superseded", "cancelled"}


@dataclass(frozen=True)
class Figures:
    """The figures of one trial. Lateness is in seconds of the trial, from when a message was due."""

    planned: int
    dropped: int
    delivered: int
    handed_over: int
    unexpected: int
    extra: int
    most: int
    kills: int
    p50: float
    p99: float
    night: int

    @property
    def lost(self) -> int:
        """Promised, and neither delivered nor handed to a person."""
        return self.planned - self.delivered - self.handed_over

    def __str__(self) -> str:
        return (
            f"planned {self.planned} (and {self.dropped} called off), delivered {self.delivered}, "
            f"handed to staff {self.handed_over}, lost {self.lost}, extra copies {self.extra}, "
            f"most copies of one {self.most}, unexpected {self.unexpected}, kills {self.kills}, "
            f"late p50 {self.p50:.1f} s p99 {self.p99:.1f} s, night sends {self.night}"
        )


def figures(
    promises: Iterable[Promise], lines: Sequence[Line], *, ahead: dt.timedelta, zone: dt.tzinfo, kills: int = 0
) -> Figures:
    """`ahead`: how far the program's time is before the sinks' machine; `zone`: where the owners live."""
    chains, counted = _chains(promises), copies(lines)
    first = {line.key: line.at for line in reversed(lines)}
    planned = {chain: rows for chain, rows in chains.items() if not all(row.dropped for row in rows)}
    came = {chain: min(at) for chain, rows in planned.items() if (at := [first[r.key] for r in rows if r.key in first])}
    waits = sorted(_moment(at, ahead) - min(row.due_at for row in planned[chain]) for chain, at in came.items())
    known = {row.key for rows in chains.values() for row in rows}
    return Figures(
        planned=len(planned),
        dropped=len(chains) - len(planned),
        delivered=len(came),
        handed_over=sum(any(row.handed_over for row in planned[chain]) for chain in planned.keys() - came.keys()),
        unexpected=len(counted.keys() - known),
        extra=sum(many - 1 for many in counted.values()),
        most=max(counted.values(), default=0),
        kills=kills,
        p50=percentile(waits, 0.5),
        p99=percentile(waits, 0.99),
        night=sum(_asleep(_moment(line.at, ahead).astimezone(zone)) for line in lines),
    )


def _chains(rows: Iterable[Promise]) -> dict[str, list[Promise]]:
    found: dict[str, list[Promise]] = defaultdict(list)
    for row in rows:
        found[row.chain].append(row)
    return found


def percentile(waits: Sequence[dt.timedelta], share: float) -> float:
    """Seconds which this share of the sorted waits does not exceed; 0 when there are none."""
    return waits[max(0, math.ceil(share * len(waits)) - 1)].total_seconds() if waits else 0.0


def _moment(at: float, ahead: dt.timedelta) -> dt.datetime:
    return dt.datetime.fromtimestamp(at, dt.UTC) + ahead


def _asleep(local: dt.datetime) -> bool:
    return not WAKES <= local.hour < SLEEPS


def tally(states: Iterable[str]) -> str:
    """States and how many of each, for people."""
    return ", ".join(f"{many} {state}" for state, many in sorted(Counter(states).items()))
