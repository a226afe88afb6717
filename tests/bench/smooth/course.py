"""The true course of one smooth recovery: what is so at each moment, whoever asks."""

from __future__ import annotations

import datetime as dt
import random
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass

from followup.domain.answers import ANSWERS, PainSign, Question
from followup.domain.bounds import HOUR
from followup.domain.case import Case
from followup.domain.terms import Procedure, Sign
from tests.bench.smooth import assumed
from tests.bench.smooth.assumed import Fading, Habit

WELL = {Question.STITCHES: "all_there", Question.COLLAR: "on"}
"""The well answer, where it is not the first of the list or says more than it."""
LAST_HOUR = 15 * 24
LOWEST_AT, REGAINED_AT = 48, 7 * 24
FIRST_VOMIT_BY = 20

_SIGN = {Question.APPETITE: Sign.FOOD, Question.FAECES: Sign.FAECES, Question.URINE: Sign.URINE}


@dataclass(frozen=True)
class Shown:
    """One answer that holds from one hour since surgery to another."""

    answer: str
    begins: float
    ends: float


@dataclass(frozen=True)
class Course:
    """`times`: when it ate, left droppings, passed urine, in order. `lowest`: share of weight lost at its lowest."""

    case: Case
    shown: dict[Question, tuple[Shown, ...]]
    pain: dict[PainSign, float]
    times: dict[Sign, tuple[dt.datetime, ...]]
    lowest: float
    vomits_at: float | None

    def hours(self, moment: dt.datetime) -> float:
        """Hours since the end of surgery."""
        return self.case.since_surgery(moment) / HOUR

    def answer(self, question: Question, now: dt.datetime, since: dt.datetime) -> str:
        """The true answer at `now` of somebody who was last asked at `since`."""
        sign = _SIGN.get(question)
        if sign is not None and self._none_lately(sign, now, since):
            return "none"
        for each in self.shown.get(question, ()):
            if each.begins <= self.hours(now) < each.ends:
                return each.answer
        return WELL.get(question, ANSWERS[question][0])

    def last(self, sign: Sign, now: dt.datetime, *, before: int = 0) -> dt.datetime | None:
        """When the sign last came; `before` 1: the time before that. None: not since surgery."""
        place = bisect_right(self.times[sign], now) - 1 - before
        return self.times[sign][place] if place >= 0 else None

    def pain_signs(self, now: dt.datetime) -> frozenset[PainSign]:
        """The signs that it shows at `now`."""
        return frozenset(sign for sign, ends in self.pain.items() if self.hours(now) < ends)

    def vomits(self, now: dt.datetime, since: dt.datetime) -> int:
        """How often it has vomited since `since`."""
        at = self.vomits_at
        return int(at is not None and self.hours(since) < at <= self.hours(now))

    def grams(self, now: dt.datetime) -> float:
        """What it weighs."""
        hours = self.hours(now)
        share = hours / LOWEST_AT if hours < LOWEST_AT else max(REGAINED_AT - hours, 0) / (REGAINED_AT - LOWEST_AT)
        return self.case.patient.weight_g * (1 - self.lowest * share)

    def _none_lately(self, sign: Sign, now: dt.datetime, since: dt.datetime) -> bool:
        lately = dict(
            zip((Sign.FOOD, Sign.FAECES, Sign.URINE), assumed.NONE_LATELY[self.case.patient.species], strict=True)
        )
        start = max(min(since, now - lately[sign] * HOUR), self.case.discharged_at)  # he has not seen it in the clinic
        last = self.last(sign, now)
        return last is None or last <= start


def course_of(case: Case, rng: random.Random) -> Course:
    """One patient's course, with its own pace."""
    species = case.patient.species
    pace = rng.lognormvariate(0, assumed.PACE) * assumed.BURDEN.get(case.procedure, 1)
    shown = _shown(case, pace, rng)
    return Course(
        case=case,
        shown=shown,
        pain={sign: until * pace * rng.lognormvariate(0, assumed.PACE)
              for sign, (share, until) in assumed.PAIN[species].items() if rng.random() < share},
        times={
            Sign.FOOD: tuple(_meals(case, shown, rng)),
            Sign.FAECES: tuple(_times(case, Question.FAECES, assumed.FAECES[species], shown, rng)),
            Sign.URINE: tuple(_times(case, Question.URINE, assumed.URINE[species], shown, rng)),
        },
        lowest=max(rng.gauss(*assumed.WEIGHT_LOSS), 0),
        vomits_at=rng.uniform(3, FIRST_VOMIT_BY) if rng.random() < assumed.VOMITS_ONCE.get(species, 0) else None,
    )  # fmt: skip


def fadings_of(case: Case) -> Iterator[Fading]:
    """What a patient of this species shows after this operation, if its lot falls so."""
    yield from assumed.FADINGS[case.patient.species]
    if case.procedure is not Procedure.DENTAL:
        yield from assumed.WOUND
    if case.procedure is Procedure.CASTRATION:
        yield assumed.GROIN


def _shown(case: Case, pace: float, rng: random.Random) -> dict[Question, tuple[Shown, ...]]:
    found: dict[Question, tuple[Shown, ...]] = {}
    for fading in fadings_of(case):
        slower = pace * rng.lognormvariate(0, assumed.PACE)
        if rng.random() < fading.share:
            begun, steps = fading.begins * slower, []
            for answer, until in fading.steps:
                steps.append(Shown(answer, begun, until * slower))
                begun = until * slower
            found[fading.question] = (*found.get(fading.question, ()), *steps)
    return found


def _meals(case: Case, shown: dict[Question, tuple[Shown, ...]], rng: random.Random) -> Iterator[dt.datetime]:
    habit = assumed.FOOD[case.patient.species]
    if case.last_ate_before_discharge_at is not None:
        yield case.last_ate_before_discharge_at
    first = case.since_surgery(case.discharged_at) / HOUR + habit.first * rng.lognormvariate(0, habit.spread)
    yield from _from(case, first, habit, shown.get(Question.APPETITE, ()), rng)


def _times(
    case: Case, question: Question, habit: Habit, shown: dict[Question, tuple[Shown, ...]], rng: random.Random
) -> Iterator[dt.datetime]:
    first = habit.first * rng.lognormvariate(0, habit.spread)
    yield from _from(case, first, habit, shown.get(question, ()), rng)


def _from(
    case: Case, hour: float, habit: Habit, reduced: tuple[Shown, ...], rng: random.Random
) -> Iterator[dt.datetime]:
    while hour < LAST_HOUR:
        yield case.surgery_ended_at + hour * HOUR
        slow = any(each.begins <= hour < each.ends for each in reduced)
        hour += (habit.slow if slow else habit.every) * rng.uniform(0.3, 1.7)
