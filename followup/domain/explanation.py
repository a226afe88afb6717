"""Why a verdict is what it is, for a vet who agrees or corrects it in seconds: values alone; made by `explaining`.

Source: the reporter of an alert shows the rule, the answers and their times, what would make it lower, what changed,
what is unknown, and what to do by when (human-factors lists for alerts).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

from followup.domain.recovery import Recovery
from followup.domain.sources import Fact, Source
from followup.domain.terms import Level
from followup.domain.verdict import Finding


@dataclass(frozen=True)
class Found:
    """One finding where it was made: what was known, at which moment."""

    finding: Finding
    known: Recovery
    now: dt.datetime


@dataclass(frozen=True)
class Ground:
    """One thing that a finding rests on: a question and its answer in plain words, when, and who said so.

    `by`: owner, staff, clinic or plan. `fact` and `vomiting`: what was answered, where a drug may explain it.
    """

    question: str
    answer: str
    at: dt.datetime | None = None
    by: str = ""
    fact: Fact | None = None
    vomiting: bool = False


@dataclass(frozen=True)
class Lower:
    """What would have made a finding milder, as a condition in words, and the level that it would then give.

    `instead`: the answers that the words speak of, each of which alone would do.
    """

    words: str
    level: Level
    instead: tuple[Fact, ...] = ()


@dataclass(frozen=True)
class OnBoard:
    """A drug that can explain what was seen, and never lowers its level. `given`: in the clinic, at home, planned."""

    drug: str
    at: dt.datetime
    given: str
    explains: str
    within: dt.timedelta
    source: Source


@dataclass(frozen=True)
class Explained:
    """One finding, explained. `nothing_lowers`: why no answer would, where `lower` is empty."""

    rule: str
    grounds: tuple[Ground, ...]
    certainty: str
    lower: tuple[Lower, ...]
    nothing_lowers: str
    drugs: tuple[OnBoard, ...]


@dataclass(frozen=True)
class Before:
    """An earlier verdict: its level, and by rule the level and reason of each finding."""

    at: dt.datetime
    level: Level
    findings: Mapping[str, tuple[Level, str]]


@dataclass(frozen=True)
class Moved:
    """A finding that is new (`was` None), gone (`now` None), raised or eased."""

    rule: str
    because: str
    was: Level | None
    now: Level | None


@dataclass(frozen=True)
class Changes:
    """What differs from the verdict of `since`."""

    since: dt.datetime
    was: Level
    now: Level
    findings: tuple[Moved, ...]


@dataclass(frozen=True)
class ToDo:
    """What a person does, who, and by when. `by` None: nothing to do."""

    what: str
    who: str
    by: dt.datetime | None


@dataclass(frozen=True)
class Explanation:
    """A whole verdict, explained. `findings` stand in the verdict's order. `changes` None: nothing to compare with."""

    findings: tuple[Explained, ...]
    unknown: tuple[str, ...]
    changes: Changes | None
    to_do: ToDo
    caution: str
