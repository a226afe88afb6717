"""How one kind of recovery runs: when we ask and what, reviews, sign-off, restrictions, feeding.

Read from a protocol.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal

from followup.domain.sources import Source
from followup.domain.terms import CheckInKind, Closure


@dataclass(frozen=True)
class AskOn:
    """We ask on `day` (surgery day is 0) at this moment of the owner's day."""

    day: int
    kind: CheckInKind
    photo: bool = False


@dataclass(frozen=True)
class QuestionSet:
    """Questions that are put together. Each condition that is set must hold; none set: always.

    `days`, `kinds`: of the check-in · `first_at_home`: of the first one only · `home_scales`:
    the owner has scales ·
    `ring_not_closed`: the way from belly to scrotum is open or nobody wrote that it was closed.
    """

    code: str
    questions: tuple[str, ...]
    source: Source
    days: frozenset[int] = frozenset()
    kinds: frozenset[CheckInKind] = frozenset()
    first_at_home: bool = False
    home_scales: bool = False
    ring_not_closed: bool = False
    closures: frozenset[Closure] = frozenset()
    unless_closures: frozenset[Closure] = frozenset()
    instead_of: tuple[str, ...] = ()


@dataclass(frozen=True)
class AnswerWithin:
    """How long an answer may take before silence is a sign:

    `early` for check-ins before `early_until`, then `later`.
    """

    early: dt.timedelta
    early_until: dt.timedelta
    later: dt.timedelta
    source: Source


@dataclass(frozen=True)
class RestrictionRule:
    """What the patient must not do for `days` days after surgery."""

    what: str
    days: int
    source: Source


@dataclass(frozen=True)
class FeedingFigures:
    """Recovery feed made up, ml per kg and day, for the vet; None: no figure for this species."""

    assisted_ml_per_kg: tuple[Decimal, Decimal] | None
    meals_per_day: int | None
    source: Source


@dataclass(frozen=True)
class DailyNeed:
    """What the body needs a day, per kg, for the vet."""

    what: str
    unit: str
    per_kg: tuple[Decimal, Decimal]
    source: Source


@dataclass(frozen=True)
class StitchDays:
    """Between which days after surgery skin stitches usually come out."""

    first: int
    last: int
    source: Source


@dataclass(frozen=True)
class WeightBands:
    """Shares of the discharge weight whose loss reaches each level; None: no such level."""

    monitor: Decimal
    urgent: Decimal
    emergency: Decimal | None
    source: Source


@dataclass(frozen=True)
class FitToGo:
    """What must be known before a patient goes home without a vet's confirmation.

    `eaten`: it has eaten since surgery · `least_temperature_c` at discharge · `weight_g`:
    plausible, both ends in.
    """

    weight_g: tuple[Decimal, Decimal]
    weight_source: Source
    least_temperature_c: Decimal | None
    temperature_source: Source
    eaten: bool = False
    eaten_source: Source | None = None


@dataclass(frozen=True)
class Course:
    """One recovery from discharge to sign-off, as a protocol lays it down. `question_order`:

    worst consequence first.
    """

    asks: tuple[AskOn, ...]
    asks_source: Source
    question_sets: tuple[QuestionSet, ...]
    question_order: tuple[str, ...]
    answer_within: AnswerWithin
    review_days: tuple[int, ...]
    sign_off_day: int
    reviews_source: Source
    restrictions: tuple[RestrictionRule, ...]
    feeding: FeedingFigures
    weight_bands: WeightBands
    fit_to_go: FitToGo
    daily_needs: tuple[DailyNeed, ...] = ()
    stitches: StitchDays | None = None
