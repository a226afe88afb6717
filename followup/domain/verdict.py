"""What triage says: a level with its reasons. Frozen, reproducible from stored facts."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from followup.domain.bounds import Bounds
from followup.domain.terms import Certainty, Concern, Heard, Level, Sign


@dataclass(frozen=True)
class Finding:
    """One rule that holds now, with its values and thresholds in plain words.

    `time_alone`: it came about by the passing of time (a clock, silence, a dose time), not by what an answer says.
    `since`: the moment of the facts that it rests on: of the answer, of the run of a clock, of the unanswered check-in.
    """

    rule: str
    concern: Concern
    level: Level
    certainty: Certainty
    because: str
    source: str
    time_alone: bool = False
    since: dt.datetime | None = None


def worst(findings: Iterable[Finding]) -> Level:
    """The level of the worst; on_track where there is none. Nothing good averages it away."""
    return max((each.level for each in findings), default=Level.ON_TRACK)


@dataclass(frozen=True)
class Signals:
    """Every derived quantity that a rule reads. None: nothing is known."""

    since_surgery: dt.timedelta
    since_last_heard: dt.timedelta
    without: dict[Sign, Bounds | None]
    weight_change_pct: float | None
    pain_sign_count: int | None
    doses_missed_running: int
    check_ins_unanswered_running: int


@dataclass(frozen=True)
class Ask:
    """The next question that is not in the fixed schedule."""

    at: dt.datetime
    questions: tuple[str, ...]


@dataclass(frozen=True)
class HeardState:
    """Heard, waiting or not heard from, and since when."""

    state: Heard
    since: dt.datetime


@dataclass(frozen=True)
class Verdict:
    """How urgent a case is at `at`, every reason, and when to look again if nothing more comes.

    `look_again_at`: the first moment at which the level would rise by time alone. `next_rise_at`: the first moment at
    which any concern's level would, so that the tick misses no flag.
    """

    protocol: str
    at: dt.datetime
    level: Level
    heard: HeardState
    findings: tuple[Finding, ...]
    signals: Signals
    look_again_at: dt.datetime | None
    next_rise_at: dt.datetime | None
    ask: Ask | None
    held_drugs: tuple[str, ...] = ()
    paused: str | None = None

    def by_concern(self) -> dict[Concern, tuple[Finding, ...]]:
        """The findings of each concern, worst first."""
        found: dict[Concern, list[Finding]] = {}
        for finding in self.findings:
            found.setdefault(finding.concern, []).append(finding)
        return {concern: tuple(each) for concern, each in found.items()}
