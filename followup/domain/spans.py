"""Spans of time, and what can be asked of several: joined, cut, taken from one another, counted.

All moments are aware and in UTC. Two local times of one zone would be compared and subtracted by their wall clocks,
which is wrong by an hour in the night of a clock change; so a span refuses them.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

NO_TIME = dt.timedelta(0)


@dataclass(frozen=True, order=True)
class Span:
    """starts <= t < ends. Raises ValueError for what is not in UTC, or does not end after it starts."""

    starts: dt.datetime
    ends: dt.datetime

    def __post_init__(self) -> None:
        """Refuse what could be measured wrongly."""
        if self.starts.tzinfo is not dt.UTC or self.ends.tzinfo is not dt.UTC:
            raise ValueError("a span is in UTC")
        if self.starts >= self.ends:
            raise ValueError("a span ends after it starts")

    @property
    def length(self) -> dt.timedelta:
        """How long it really lasts, whatever the clocks show."""
        return self.ends - self.starts

    def holds(self, moment: dt.datetime) -> bool:
        """Whether `moment` lies in it."""
        return self.starts <= moment < self.ends


def span(starts: dt.datetime, ends: dt.datetime) -> Span | None:
    """From one moment to another, whatever zones they are told in; None when nothing lies between them."""
    begins, over = starts.astimezone(dt.UTC), ends.astimezone(dt.UTC)
    return Span(begins, over) if begins < over else None


def joined(spans: Iterable[Span]) -> tuple[Span, ...]:
    """The same time in as few spans as can be, in order: what overlaps or touches is one."""
    found: list[Span] = []
    for each in sorted(spans):
        if found and each.starts <= found[-1].ends:
            found[-1] = Span(found[-1].starts, max(found[-1].ends, each.ends))
        else:
            found.append(each)
    return tuple(found)


def common(some: Iterable[Span], others: Iterable[Span]) -> tuple[Span, ...]:
    """The time that lies in both."""
    theirs = joined(others)
    cut = (span(max(a.starts, b.starts), min(a.ends, b.ends)) for a in joined(some) for b in theirs)
    return tuple(each for each in cut if each is not None)


def without(some: Iterable[Span], others: Iterable[Span]) -> tuple[Span, ...]:
    """The time of `some` that lies in none of `others`."""
    left = list(joined(some))
    for taken in joined(others):
        parts = ((span(a.starts, min(a.ends, taken.starts)), span(max(a.starts, taken.ends), a.ends)) for a in left)
        left = [part for both in parts for part in both if part is not None]
    return joined(left)


def held(spans: Iterable[Span], moment: dt.datetime) -> bool:
    """Whether any of them holds `moment`."""
    return any(each.holds(moment) for each in spans)


def passed(spans: Sequence[Span], since: dt.datetime, time: dt.timedelta = NO_TIME) -> dt.datetime | None:
    """When so much time of the spans has passed since a moment; without `time` the first moment in any of them.

    None: they hold less than that.
    """
    for each in joined(spans):
        begins = max(each.starts, since)
        if begins >= each.ends:
            continue
        if begins + time <= each.ends:
            return begins + time
        time -= each.ends - begins
    return None
