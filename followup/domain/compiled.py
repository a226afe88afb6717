"""What a plan is once it is computed: frozen values that the clinic and the owner will be asked to do.

Amounts are exact (`Decimal`, `Fraction` before rounding); times are aware instants.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal

from followup.domain.terms import CheckInKind, Form, HomeRoute, ProblemKind


@dataclass(frozen=True)
class PlannedDose:
    """One dose at home. `at` is when it is asked for; never before `not_before`; missed after `give_until`.

    `mg` is exact, `ml` what the owner draws up; `rounding_error` = (delivered - exact) / exact.
    """

    number: int
    at: dt.datetime
    not_before: dt.datetime
    give_until: dt.datetime
    mg: Decimal | None = None
    ml: Decimal | None = None
    tablets: Decimal | None = None
    fixed: str = ""
    mg_per_kg_delivered: Decimal | None = None
    rounding_error: Decimal | None = None


@dataclass(frozen=True)
class Medicine:
    """One medicine that goes home. Refused: no doses. `proposal`: nobody prescribed it, so nothing is reminded."""

    drug: str
    form: Form
    route: HomeRoute
    proposal: bool
    doses: tuple[PlannedDose, ...]
    mg_per_ml: Decimal | None = None
    syringe_ml: Decimal | None = None
    graduation_ml: Decimal | None = None
    total_ml: Decimal | None = None
    total_tablets: Decimal | None = None
    mg_per_tablet: Decimal | None = None
    is_nsaid: bool = False
    every_hours: Decimal | None = None
    hard_limit_mg_per_kg_a_day: Decimal | None = None


@dataclass(frozen=True)
class PlannedCheckIn:
    """We ask at `at`; from `answer_by` on, no answer is itself a sign. `questions` are observation keys."""

    at: dt.datetime
    answer_by: dt.datetime
    kind: CheckInKind
    day: int
    questions: tuple[str, ...]
    photo: bool = False


@dataclass(frozen=True)
class Review:
    """A wound review by photo or in person."""

    day: int
    at: dt.datetime


@dataclass(frozen=True)
class Restriction:
    """What the patient must not do, until when."""

    what: str
    until: dt.datetime


@dataclass(frozen=True)
class CoverInterval:
    """One analgesic at work, from and to at the earliest plausible end."""

    drug: str
    starts: dt.datetime
    ends: dt.datetime


@dataclass(frozen=True)
class Gap:
    """No analgesic at work."""

    starts: dt.datetime
    ends: dt.datetime


@dataclass(frozen=True)
class Cover:
    """Analgesic cover from the end of surgery to the last planned dose's end."""

    intervals: tuple[CoverInterval, ...]
    gaps: tuple[Gap, ...]


@dataclass(frozen=True)
class Feeding:
    """kcal a day; recovery feed in ml a day, made up, as a range for the vet; None: no figure for this species."""

    resting_energy_kcal_per_day: Decimal
    assisted_ml_per_day: tuple[Decimal, Decimal] | None
    meals_per_day: int | None


@dataclass(frozen=True)
class WeightAlerts:
    """Grams; reached at or below."""

    monitor: Decimal
    urgent: Decimal
    emergency: Decimal | None


@dataclass(frozen=True)
class Problem:
    """What stands against the plan, at a JSON path into the case, in words for the reader."""

    kind: ProblemKind
    path: str
    message: str
    source: str = ""


@dataclass(frozen=True)
class CompiledPlan:
    """One recovery, from discharge to sign-off, computed."""

    protocol: str
    medication: tuple[Medicine, ...]
    feeding: Feeding
    weight_alerts: WeightAlerts
    check_ins: tuple[PlannedCheckIn, ...]
    wound_reviews: tuple[Review, ...]
    restrictions: tuple[Restriction, ...]
    cover: Cover
    sign_off_at: dt.datetime
    problems: tuple[Problem, ...]

    def needs_vet(self) -> bool:
        """Whether a named vet must confirm before anything is printed or sent."""
        return any(problem.kind is ProblemKind.NEEDS_VET for problem in self.problems)

    def refused(self) -> bool:
        """Whether something in it is refused: no plan can be made safely as asked."""
        return any(problem.kind is ProblemKind.REFUSED for problem in self.problems)
