"""How flags open, rise, settle and are dealt with: section 13 of the clinical defaults, without a database.

The same steps as `followup/services/gather.py`, over `followup/domain/acting.py`.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from followup.domain.acting import is_news
from followup.domain.terms import Concern, Level
from followup.domain.verdict import Finding

Findings = Mapping[Concern, Sequence[Finding]]


@dataclass(frozen=True)
class Alert:
    """A flag was opened at, or raised to, urgent or emergency. `rule` is that of its worst finding."""

    at: dt.datetime
    concern: Concern
    level: Level
    rule: str


@dataclass
class Flag:
    """An open flag: its level now, and the worst that it ever had."""

    level: Level
    worst: Level
    updated_at: dt.datetime


@dataclass
class Flags:
    """Every flag of one patient. `dealt_with`: up to when, and at which level, a concern has been settled."""

    open: dict[Concern, Flag] = field(default_factory=dict)
    dealt_with: dict[Concern, tuple[dt.datetime, Level]] = field(default_factory=dict)

    def follow(self, acted_on: Findings, every: Findings, now: dt.datetime) -> tuple[Alert, ...]:
        """Bring the flags in step with a verdict; the alerts that it gives."""
        found = []
        for concern in Concern:
            flag = self.open.get(concern)
            if flag is None:
                risen = self._open(concern, acted_on.get(concern, ()), now)
            else:
                findings = (every if flag.worst >= Level.URGENT else acted_on).get(concern, ())
                risen = self._follow(concern, flag, findings, now)
            if risen is not None and risen.level >= Level.URGENT:
                found.append(Alert(now, concern, risen.level, risen.rule))
        return tuple(found)

    def review(self, concern: Concern, now: dt.datetime) -> None:
        """A person has looked: the same facts open nothing anew."""
        self.dealt_with[concern] = now, self.open.pop(concern).level

    def _open(self, concern: Concern, findings: Sequence[Finding], now: dt.datetime) -> Finding | None:
        if not findings or not self._is_news(concern, findings):
            return None
        self.open[concern] = Flag(findings[0].level, findings[0].level, now)
        return findings[0]

    def _is_news(self, concern: Concern, findings: Sequence[Finding]) -> bool:
        if concern not in self.dealt_with:
            return True
        covered_to, level_then = self.dealt_with[concern]
        return is_news(findings, covered_to=covered_to, level_then=level_then)

    def _follow(self, concern: Concern, flag: Flag, findings: Sequence[Finding], now: dt.datetime) -> Finding | None:
        if not findings:
            self._ease(concern, flag, now)
            return None
        flag.level, flag.updated_at = findings[0].level, now
        if flag.level <= flag.worst:
            return None
        flag.worst = flag.level
        return findings[0]

    def _ease(self, concern: Concern, flag: Flag, now: dt.datetime) -> None:
        """A good answer settles a monitor flag; anything that was ever worse waits for a person."""
        if flag.worst <= Level.MONITOR:
            self.dealt_with[concern] = now, flag.level
            del self.open[concern]
        else:
            flag.level = Level.ON_TRACK
