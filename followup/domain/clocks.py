"""Clocks of the four signs: how long without food, a meal, droppings, urine; as bounds, never one guessed time.

Source: clinical defaults, 6 (D). A good answer makes a clock stand; "none" and "not sure" make it run.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import Enum

from followup.domain.answers import Question, Unsure
from followup.domain.bounds import NOTHING, Bounds
from followup.domain.case import Case
from followup.domain.observation import Observation, Told
from followup.domain.recovery import CONTRADICTORY_WITHIN, Recovery
from followup.domain.rules import ClockRule, Limits
from followup.domain.terms import Sign

BITES = "a_few_bites"


class Kind(Enum):
    """What one observation says of a sign."""

    GOOD = "good"
    NONE = "none"
    UNSURE = "unsure"
    TIME_ONLY = "time only"


_QUESTION = {
    Sign.FOOD: (Question.APPETITE, Unsure.APPETITE, Sign.FOOD),
    Sign.MEAL: (Question.APPETITE, Unsure.APPETITE, Sign.FOOD),
    Sign.FAECES: (Question.FAECES, Unsure.FAECES, Sign.FAECES),
    Sign.URINE: (Question.URINE, Unsure.URINE, Sign.URINE),
}
"""Which answer, which "not sure" and which told time feed a sign's clock."""

_GOOD = {
    Sign.FOOD: frozenset({"normal", "less", BITES}),
    Sign.MEAL: frozenset({"normal", "less"}),
    Sign.FAECES: frozenset({"normal", "fewer", "soft", "night_droppings_left", "diarrhoea"}),
    Sign.URINE: frozenset({"normal", "little", "bloody"}),
}
_NONE = {
    Sign.FOOD: frozenset({"none"}),
    Sign.MEAL: frozenset({"none", BITES}),
    Sign.FAECES: frozenset({"none"}),
    Sign.URINE: frozenset({"none"}),
}


@dataclass(frozen=True)
class Clock:
    """One sign's clock after the answers so far.

    `known`: last known, not before its earliest end. `stood`: the bounds between which it stands; None: it runs.
    While it runs: `run_began`; `first_none` of the run; `told`: last known was told as a time within the run.
    `nothing_known`: nothing has been known since the end of surgery.
    """

    known: Told
    stood: Bounds | None
    run_began: dt.datetime | None = None
    first_none: dt.datetime | None = None
    told: bool = False
    nothing_known: bool = True

    @property
    def runs(self) -> bool:
        """Whether it runs with time."""
        return self.stood is None

    def reading(self, now: dt.datetime) -> Bounds:
        """How long without the sign, at `now`."""
        if self.stood is not None:
            return self.stood
        at_most = max(now - self.known.earliest, NOTHING)  # "now" may lie before it: what had been reached at waking?
        return Bounds(min(max(self._at_least(now), NOTHING), at_most), at_most)

    def _at_least(self, now: dt.datetime) -> dt.timedelta:
        if self.told or (self.nothing_known and self.first_none is not None):
            return now - self.known.latest
        return now - self.first_none if self.first_none is not None else NOTHING

    def certain_from(self, limit: dt.timedelta) -> dt.datetime | None:
        """When the limit is certainly reached if the run goes on; None: never by itself."""
        if self.told or (self.nothing_known and self.first_none is not None):
            return self.known.latest + limit
        return self.first_none + limit if self.first_none is not None else None


def clock_of(recovery: Recovery, sign: Sign) -> Clock:
    """The clock of `sign` after everything that was seen: the same at every `now`, so worked out once."""
    kept = recovery.worked_out.get((clock_of, sign))
    if isinstance(kept, Clock):
        return kept
    found = _clock_of(recovery, sign)
    recovery.worked_out[clock_of, sign] = found
    return found


def _clock_of(recovery: Recovery, sign: Sign) -> Clock:
    lowest, home = lowest_limit(recovery, sign), recovery.case.discharged_at
    looks = _that_count(recovery, sign)
    clock = _after_all(_at_first(recovery.case), [look for look in looks if look.at < home], lowest)
    none_at = [look.at for look in looks if look.at < home and look.kind is Kind.NONE]
    clock = _at_discharge(clock, _before_discharge(recovery.case, sign), none_at, home, lowest)
    return _after_all(clock, [look for look in looks if look.at >= home], lowest)


@dataclass(frozen=True)
class Look:
    """What one observation says of the sign: when it was made, and the time that it tells, if any."""

    at: dt.datetime
    kind: Kind
    told: Told | None


def _that_count(recovery: Recovery, sign: Sign) -> tuple[Look, ...]:
    """Every look that says something of `sign`; a good answer that "none" contradicts is left out."""
    start = recovery.case.surgery_ended_at
    looks = [
        Look(seen.at, kind, _told_time(seen, sign, start))
        for seen in recovery.observations
        if (kind := kind_of(seen, sign)) is not None
    ]
    said_none = [look.at for look in looks if look.kind is Kind.NONE]
    return tuple(look for look in looks if look.kind is not Kind.GOOD or not _contradicted(look.at, said_none))


def _after_all(clock: Clock, looks: Sequence[Look], lowest: dt.timedelta) -> Clock:
    for look in looks:
        clock = _after(clock, look.kind, look.at, look.told, lowest)
    return clock


def _contradicted(good: dt.datetime, said_none: Sequence[dt.datetime]) -> bool:
    """Whether "none" was said within half an hour of a good answer: then the worse stands. Source: 6.8."""
    return any(abs(good - at) <= CONTRADICTORY_WITHIN for at in said_none)


def question_of(sign: Sign) -> Question:
    """The question whose answers feed the sign's clock."""
    return _QUESTION[sign][0]


def lowest_limit(recovery: Recovery, sign: Sign) -> dt.timedelta:
    """The lowest limit in hours that any rule sets for `sign`; a clock that stands so high counts as none."""
    limits = [
        hours
        for rule in recovery.rules.clocks
        if rule.sign is sign
        for window in windows_of(rule, recovery)
        for _, hours in window.hours
    ]
    return min(limits, default=dt.timedelta.max)


def windows_of(rule: ClockRule, recovery: Recovery) -> tuple[Limits, ...]:
    """The limits that hold for this patient as it stands: the earlier ones for the very young, the old or the ill."""
    sooner = rule.sooner
    if sooner is None:
        return rule.windows
    age = recovery.case.patient.age_months
    old = age is not None and sooner.age_months_from is not None and age >= sooner.age_months_from
    young = age is not None and sooner.age_months_below is not None and age < sooner.age_months_below
    ill = any(recovery.stands(*fact) for fact in sooner.facts)
    return sooner.windows if old or young or ill else rule.windows


def kind_of(seen: Observation, sign: Sign) -> Kind | None:
    """What `seen` says of `sign`; None: nothing."""
    question, unsure, told = _QUESTION[sign]
    answer = seen.answer(question)
    if answer in _GOOD[sign]:
        return Kind.GOOD
    if answer in _NONE[sign]:
        return Kind.NONE
    if unsure in seen.not_sure or (told in seen.told and seen.told[told] is None):
        return Kind.UNSURE
    return Kind.TIME_ONLY if seen.told.get(told) is not None else None


def _told_time(seen: Observation, sign: Sign, start: dt.datetime) -> Told | None:
    """The time told for `sign`, never before `start`; one told with a few bites feeds the food clock only."""
    if sign is Sign.MEAL and seen.answer(Question.APPETITE) == BITES:
        return None
    told = seen.told.get(_QUESTION[sign][2])
    return None if told is None else Told(max(told.earliest, start), max(told.latest, start))


def _at_first(case: Case) -> Clock:
    """At the end of surgery, or of a stay in a clinic since, nothing is known."""
    return Clock(known=Told.exactly(case.home_again_at or case.surgery_ended_at), stood=Bounds.settled(NOTHING))


def _before_discharge(case: Case, sign: Sign) -> dt.datetime | None:
    """The time that the clinic wrote down; None: not known, or before the end of surgery."""
    before = {
        Sign.FOOD: case.last_ate_before_discharge_at,
        Sign.MEAL: None if case.discharge.appetite == BITES else case.last_ate_before_discharge_at,
        Sign.FAECES: case.last_faeces_before_discharge_at,
        Sign.URINE: case.last_urine_before_discharge_at,
    }[sign]
    return before if before is not None and before > case.surgery_ended_at else None


def _at_discharge(
    clock: Clock, before: dt.datetime | None, none_at: Sequence[dt.datetime], home: dt.datetime, lowest: dt.timedelta
) -> Clock:
    """The clock stands at discharge, unless "none" was said in the clinic and nothing has been known since."""
    if before is not None:
        clock = replace(clock, known=Told.exactly(max(before, clock.known.earliest)), nothing_known=False)
    settled = before is not None and all(at < before for at in none_at)
    return _stand(clock, home, lowest) if settled or not clock.runs else clock


def _stand(clock: Clock, at: dt.datetime, lowest: dt.timedelta) -> Clock:
    """The clock stands at `at`; for certain as high as its lowest limit it counts as none with a told time.

    Where only the earlier end of a time told between two moments is that long ago, the limit stays possible: he eats,
    and "this afternoon" is no hour.
    """
    least, most = (max(at - end, NOTHING) for end in (clock.known.latest, clock.known.earliest))
    if least >= lowest:
        return replace(clock, stood=None, run_began=at, first_none=at, told=True)
    return replace(clock, stood=Bounds(least, most), run_began=None, first_none=None, told=False)


def _after(clock: Clock, kind: Kind, at: dt.datetime, told: Told | None, lowest: dt.timedelta) -> Clock:
    moved = _learn(clock, told) if told is not None else clock
    if kind is Kind.GOOD:
        if told is None:
            moved = replace(moved, known=_later(moved.known, at), nothing_known=False)
        return _stand(moved, at, lowest)
    if kind is Kind.TIME_ONLY:
        return moved if moved.runs else _stand(moved, at, lowest)
    return _run(moved, at, none=kind is Kind.NONE, told=told is not None)


def _learn(clock: Clock, told: Told) -> Clock:
    """A told time moves the clock forward only; within what was known vaguely it makes it exact.

    One before the end of surgery counts as the end of surgery.
    """
    first = clock.known.earliest
    known = Told(max(told.earliest, first), max(told.latest, first))
    if told.latest <= first:
        return replace(clock, known=known)
    return replace(clock, known=known, nothing_known=False, told=clock.runs)


def _later(known: Told, at: dt.datetime) -> Told:
    return Told.exactly(max(known.latest, at))


def _run(clock: Clock, at: dt.datetime, *, none: bool, told: bool) -> Clock:
    first = clock.first_none if clock.runs else None
    return replace(
        clock,
        stood=None,
        run_began=clock.run_began if clock.runs else at,
        first_none=first or (at if none else None),
        told=told or (clock.told and clock.runs),
    )
