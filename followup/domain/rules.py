"""What a clinical rule may say. Rules are data with a source, read whole from the protocols.

The grammar is small and monotone by construction: a rule reads one signal or one answer, steps through windows of time
since surgery, and can only ever raise a level.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field

from followup.domain.answers import PainSign, Question
from followup.domain.terms import Approach, Closure, Concern, Level, Mark, Procedure, Sign


@dataclass(frozen=True)
class Source:
    """Where a value comes from: a mark and, in words, the publication, or "common practice, no source"."""

    mark: Mark
    text: str


@dataclass(frozen=True)
class Step:
    """A level that holds for things seen before `until` (time since the end of surgery); None: from then on."""

    level: Level
    until: dt.timedelta | None = None


@dataclass(frozen=True)
class Applies:
    """For which operations a rule holds: `only` needs all that is named, `unless` any. Empty: nothing is named."""

    procedures: frozenset[Procedure] = frozenset()
    closures: frozenset[Closure] = frozenset()
    approaches: frozenset[Approach] = frozenset()


@dataclass(frozen=True)
class Rule:
    """What every rule carries. `because` is the reason in plain words, for staff and in the verdict."""

    code: str
    concern: Concern
    because: str
    source: Source
    only: Applies = field(default_factory=Applies, kw_only=True)
    unless: Applies | None = field(default=None, kw_only=True)


@dataclass(frozen=True)
class AnswerRule(Rule):
    """One of `answers` to `question` gives the level of the first step whose window holds when it was seen.

    `together_with`: sets of other standing facts (`question=answer`), any one of which must stand too.
    """

    question: Question
    answers: frozenset[str]
    steps: tuple[Step, ...]
    together_with: frozenset[tuple[Question, str]] = frozenset()
    twice_running: bool = False


@dataclass(frozen=True)
class PainRule(Rule):
    """At least `at_least` of `signs` seen together give the level of the first step whose window holds."""

    signs: frozenset[PainSign]
    at_least: int
    steps: tuple[Step, ...]


@dataclass(frozen=True)
class Limits:
    """Hours at which each level is reached, for judgements before `until` since the end of surgery."""

    hours: tuple[tuple[Level, dt.timedelta], ...]
    until: dt.timedelta | None = None


@dataclass(frozen=True)
class ClockRule(Rule):
    """Hours without a sign: the limits of the window in which it is judged."""

    sign: Sign
    windows: tuple[Limits, ...]


@dataclass(frozen=True)
class WeightRule(Rule):
    """Loss of body weight, as a share of the weight at discharge, at which each level is reached."""

    bands: tuple[tuple[Level, float], ...]


@dataclass(frozen=True)
class PictureRule(Rule):
    """A named picture of several facts, a function in `domain/pictures.py`; the step is judged at `now`.

    `hours` are the hours without a sign that the picture reads.
    """

    picture: str
    steps: tuple[Step, ...]
    hours: Mapping[Sign, dt.timedelta] = field(default_factory=dict)


@dataclass(frozen=True)
class WordRule(Rule):
    """An owner's own words that name a danger, unless one of `denials` stands shortly before in the sentence."""

    level: Level
    phrases: tuple[str, ...]
    denials: frozenset[str]


@dataclass(frozen=True)
class Rules:
    """All rules of one protocol, by kind."""

    answers: tuple[AnswerRule, ...] = ()
    pain: tuple[PainRule, ...] = ()
    clocks: tuple[ClockRule, ...] = ()
    weight: tuple[WeightRule, ...] = ()
    pictures: tuple[PictureRule, ...] = ()
    words: tuple[WordRule, ...] = ()

    def all(self) -> tuple[Rule, ...]:
        """Every rule, in the order of the file."""
        return (*self.answers, *self.pain, *self.clocks, *self.weight, *self.pictures, *self.words)
