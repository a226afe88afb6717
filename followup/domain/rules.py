"""What a clinical rule may say. Rules are data with a source, read whole from the protocols.

The grammar is small and monotone by construction: a rule reads one signal or one answer, steps through windows of time
since surgery, and can only ever raise a level.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field

from followup.domain.answers import PainSign, Question, Unsure
from followup.domain.drug_groups import DrugGroup
from followup.domain.sources import Fact, Source
from followup.domain.steady_rules import SteadyRules
from followup.domain.terms import Approach, Closure, Concern, Level, Procedure, Sign
from followup.domain.vocabulary import LifeSign


@dataclass(frozen=True)
class Step:
    """A level that holds for things seen before `until` (time since the end of surgery); None: from then on."""

    level: Level
    until: dt.timedelta | None = None


@dataclass(frozen=True)
class Applies:
    """For which operations a rule holds: `only` needs all that is named, `unless` any. Empty: nothing is named.

    `given`: a drug of one of these groups was given in the clinic or goes home.
    """

    procedures: frozenset[Procedure] = frozenset()
    closures: frozenset[Closure] = frozenset()
    approaches: frozenset[Approach] = frozenset()
    given: frozenset[DrugGroup] = frozenset()


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

    `together_with`: other facts, any one of which must stand too; `or_vomiting`: or vomiting.
    `twice_running`: not the first time; `apart`: the first and the newest of the run at least so far from each other.
    `at_work`: only while a drug of that group was at work when it was answered. `stays`: no better answer takes it
    back, only a person who has reviewed it.
    """

    question: Question
    answers: frozenset[str]
    steps: tuple[Step, ...]
    together_with: frozenset[Fact] = frozenset()
    or_vomiting: bool = False
    twice_running: bool = False
    apart: dt.timedelta = dt.timedelta(0)
    at_work: DrugGroup | None = None
    stays: bool = False


@dataclass(frozen=True)
class PainRule(Rule):
    """At least `at_least` of `signs` seen together give the level of the first step whose window holds."""

    signs: frozenset[PainSign]
    at_least: int
    steps: tuple[Step, ...]


@dataclass(frozen=True)
class VomitRule(Rule):
    """At least `at_least` vomits in the newest count give the level of the first step whose window holds."""

    at_least: int
    steps: tuple[Step, ...]


@dataclass(frozen=True)
class UnsureRule(Rule):
    """ "I am not sure" about `topic`, `at_least` times since the last answer to it."""

    topic: Unsure
    at_least: int
    steps: tuple[Step, ...]


@dataclass(frozen=True)
class Limits:
    """Hours at which each level is reached, for judgements before `until` since the end of surgery."""

    hours: tuple[tuple[Level, dt.timedelta], ...]
    until: dt.timedelta | None = None


@dataclass(frozen=True)
class Sooner:
    """Earlier limits for a patient from (or below) an age on the day of surgery, or while one of the facts stands."""

    windows: tuple[Limits, ...]
    age_months_from: float | None = None
    age_months_below: float | None = None
    facts: frozenset[Fact] = frozenset()


@dataclass(frozen=True)
class ClockRule(Rule):
    """Hours without a sign: the limits of the window in which it is judged."""

    sign: Sign
    windows: tuple[Limits, ...]
    sooner: Sooner | None = None


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
    """An owner's own words that name a danger of the vocabulary and do not deny it.

    `phrases`: more dangers, of a practice's own. `expected_missing`: what this species may do without for so long that
    its absence is no danger; the clocks judge it.
    """

    level: Level
    phrases: tuple[str, ...] = ()
    expected_missing: frozenset[LifeSign] = frozenset()


@dataclass(frozen=True)
class CanExplain:
    """A drug of `group` given less than `within` ago can explain one of `facts`, or vomiting; it lowers no level."""

    code: str
    group: DrugGroup
    because: str
    within: dt.timedelta
    source: Source
    facts: frozenset[Fact] = frozenset()
    vomiting: bool = False


@dataclass(frozen=True)
class Rules:
    """All rules of one protocol, by kind. `steady`: those that differ only in their figures.

    `can_explain` is no rule: it is shown beside a finding.
    """

    answers: tuple[AnswerRule, ...] = ()
    pain: tuple[PainRule, ...] = ()
    vomits: tuple[VomitRule, ...] = ()
    unsure: tuple[UnsureRule, ...] = ()
    clocks: tuple[ClockRule, ...] = ()
    weight: tuple[WeightRule, ...] = ()
    pictures: tuple[PictureRule, ...] = ()
    words: tuple[WordRule, ...] = ()
    steady: SteadyRules = field(default_factory=SteadyRules)
    can_explain: tuple[CanExplain, ...] = ()

    def all(self) -> tuple[Rule, ...]:
        """Every rule, in the order of the file."""
        answered = (*self.answers, *self.pain, *self.vomits, *self.unsure)
        return (*answered, *self.clocks, *self.weight, *self.pictures, *self.words)
