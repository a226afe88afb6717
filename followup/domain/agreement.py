"""How far two judges of the same patients agree: shares with their limits, and weighted kappa. Plain arithmetic."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from followup.domain.terms import Level

Table = Mapping[tuple[Level, Level], int]
"""How often the first judge gave one level and the second another; a pair that never came has no key."""

TWO_SIDED_95 = 1.959964
"""The 97.5th percentile of the normal distribution."""


@dataclass(frozen=True)
class Share:
    """`count` of `of`. The limits are fractions: where the true share lies, 95 times of 100; None for none of none."""

    count: int
    of: int

    @property
    def limits(self) -> tuple[float, float] | None:
        """Wilson's score interval, which stays between 0 and 1 for few. Source: Wilson 1927, JASA 22: 209 (M)."""
        if not self.of:
            return None
        share, squared = self.count / self.of, TWO_SIDED_95**2
        middle = share + squared / (2 * self.of)
        half = TWO_SIDED_95 * math.sqrt(share * (1 - share) / self.of + squared / (4 * self.of**2))
        whole = 1 + squared / self.of
        return max((middle - half) / whole, 0.0), min((middle + half) / whole, 1.0)


def agreements(table: Table) -> Share:
    """Both gave the same level."""
    return Share(sum(many for (first, second), many in table.items() if first == second), sum(table.values()))


def lower(table: Table) -> Share:
    """The first judge gave a milder level: where the first is a program and the second a vet, a miss."""
    return Share(sum(many for (first, second), many in table.items() if first < second), sum(table.values()))


def higher(table: Table) -> Share:
    """The first judge gave a worse level: a false alarm."""
    return Share(sum(many for (first, second), many in table.items() if first > second), sum(table.values()))


def weighted_kappa(table: Table) -> float | None:
    """Agreement beyond chance, a disagreement of two levels counting twice one of one (linear weights).

    1: always the same. 0: as chance would. None: chance alone would agree always, so nothing can be told.
    Source: Cohen 1968, Psychological Bulletin 70: 213 (M).
    """
    total = sum(table.values())
    firsts = {level: sum(many for (first, _), many in table.items() if first == level) for level in Level}
    seconds = {level: sum(many for (_, second), many in table.items() if second == level) for level in Level}
    by_chance = sum(abs(a - b) * firsts[a] * seconds[b] for a in Level for b in Level)
    if not by_chance:
        return None
    seen = sum(abs(first - second) * many for (first, second), many in table.items())
    return 1 - seen * total / by_chance
