"""A quantity of time that is known only between two values. Unknown is not normal, and not zero."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import Enum

HOUR = dt.timedelta(hours=1)
NOTHING = dt.timedelta(0)


class Holds(Enum):
    """Whether a limit is reached, as far as the answers tell."""

    CERTAINLY = "certainly"
    POSSIBLY = "possibly"
    NOT = "not"


@dataclass(frozen=True)
class Bounds:
    """At least this long, at most that long. Equal ends: settled. Always 0 <= at_least <= at_most."""

    at_least: dt.timedelta
    at_most: dt.timedelta

    def __post_init__(self) -> None:
        if not NOTHING <= self.at_least <= self.at_most:
            raise ValueError(f"bounds out of order: {self.at_least}, {self.at_most}")

    @classmethod
    def settled(cls, value: dt.timedelta) -> Bounds:
        """Bounds whose ends are equal."""
        return cls(value, value)

    def reaches(self, limit: dt.timedelta) -> Holds:
        """Whether the quantity has reached `limit`; a limit is reached at the value itself."""
        if self.at_least >= limit:
            return Holds.CERTAINLY
        return Holds.POSSIBLY if self.at_most >= limit else Holds.NOT

    def in_hours(self) -> tuple[float, float]:
        """Both ends in hours, to the minute's hundredth of an hour."""
        return round(self.at_least / HOUR, 2), round(self.at_most / HOUR, 2)
