"""Analgesic cover and its gaps. The earliest plausible end is the safe one. Source:

clinical defaults, 8.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import Enum

from followup.domain.bounds import HOUR
from followup.domain.case import Case, GivenInClinic
from followup.domain.compiled import Cover, CoverInterval, Gap, Medicine, PlannedDose
from followup.domain.exact import exact
from followup.domain.formulary import Formulary, Works
from followup.domain.terms import Species

NSAID_IN_CLINIC = 24 * HOUR
"""The clinic's NSAID dose covers 24 h."""


SOLID: dict[tuple[Species, str], dt.timedelta] = {(Species.GUINEA_PIG, "meloxicam"): 12 * HOUR}
"""Where the label's interval is longer than the blood level: drawn solid so far, hatched to the end of the interval.

Half-life 3.5 h (P, n = 6). It counts as covered for gaps. Source: clinical defaults, 8.
"""


class Known(Enum):
    """What is known of a piece of cover. Untold, wrong and held: it may not be at work at all."""

    GIVEN = "given"
    TO_COME = "to_come"
    UNTOLD = "untold"
    WRONG = "wrong"
    HELD = "held"


COUNTS = frozenset({Known.GIVEN, Known.TO_COME})
"""What covers for sure, as far as the plan is kept."""

UNKNOWN_CLINIC = 24 * HOUR
"""What the clinic gave is unknown: it may cover so long after the end of surgery. Source: clinical defaults, 8."""


@dataclass(frozen=True)
class Piece:
    """One analgesic at work. From `solid_until` on the blood level is low; equal to `ends` where nothing says so.

    `number` of the dose at home; None: given in the clinic.
    """

    drug: str
    starts: dt.datetime
    solid_until: dt.datetime
    ends: dt.datetime
    known: Known
    number: int | None = None


@dataclass(frozen=True)
class TakenDose:
    """One home dose for the cover: when it was taken, or will be; `known` says which."""

    drug: str
    at: dt.datetime
    known: Known
    number: int


@dataclass(frozen=True)
class GapsLeft:
    """Times without cover. `perhaps`: only if a dose that is not sure, or the clinic's unknown one, does not work."""

    sure: tuple[Gap, ...]
    perhaps: tuple[Gap, ...]


def pieces_of(
    case: Case, medicines: Sequence[Medicine], doses: Iterable[TakenDose], formulary: Formulary
) -> tuple[Piece, ...]:
    """Cover by what was given in the clinic and by these home doses, in the order in which it begins."""
    by_drug = {each.drug: each for each in medicines}
    found = [
        _piece(each, Known.GIVEN, case)
        for given in case.given_in_clinic or ()
        if (each := _in_clinic(given, case, formulary))
    ]
    for dose in doses:
        medicine = by_drug[dose.drug]
        alone = replace(medicine, doses=tuple(replace(one, at=dose.at) for one in medicine.doses[:1]))
        found += [_piece(each, dose.known, case, dose.number) for each in _at_home(alone, case, formulary)]
    return tuple(sorted(found, key=lambda each: (each.starts, each.ends)))


def gaps_left(case: Case, pieces: Sequence[Piece], until: dt.datetime) -> GapsLeft:
    """From the end of surgery to `until`. The pieces stand in the order of their start."""
    start = case.surgery_ended_at
    every = [CoverInterval(each.drug, each.starts, each.ends) for each in pieces]
    certain = [CoverInterval(each.drug, each.starts, each.ends) for each in pieces if each.known in COUNTS]
    if case.given_in_clinic is None:
        every.insert(0, CoverInterval("", start, min(start + UNKNOWN_CLINIC, max(start, until))))
    sure = gaps_between(start, sorted(every, key=lambda each: each.starts), until)
    possible = gaps_between(start, certain, until)
    return GapsLeft(sure, tuple(part for each in possible for part in _without(each, sure)))


def _without(wide: Gap, narrow: Iterable[Gap]) -> Iterator[Gap]:
    """What is left of a gap beside those that lie in it."""
    begins = wide.starts
    for each in narrow:
        if wide.starts <= each.starts and each.ends <= wide.ends:
            if each.starts > begins:
                yield Gap(begins, each.starts)
            begins = each.ends
    if begins < wide.ends:
        yield Gap(begins, wide.ends)


def _piece(each: CoverInterval, known: Known, case: Case, number: int | None = None) -> Piece:
    solid = SOLID.get((case.patient.species, each.drug), each.ends - each.starts)
    return Piece(each.drug, each.starts, min(each.starts + solid, each.ends), each.ends, known, number)


def cover_of(case: Case, medicines: Sequence[Medicine], formulary: Formulary) -> Cover:
    """From the end of surgery to the last home dose plus its interval; nothing at home:

    to the end of the clinic's cover.
    """
    clinic = [_in_clinic(given, case, formulary) for given in case.given_in_clinic or ()]
    home = [each for medicine in medicines for each in _at_home(medicine, case, formulary)]
    intervals = tuple(
        sorted(
            (each for each in (*clinic, *home) if each is not None),
            key=lambda each: (each.starts, each.ends),
        )
    )
    until = max((end for medicine in medicines if (end := _needed_until(medicine, home)) is not None), default=None)
    return Cover(intervals=intervals, gaps=gaps_between(case.surgery_ended_at, intervals, until))


def _needed_until(medicine: Medicine, home: Sequence[CoverInterval]) -> dt.datetime | None:
    """The last dose of a painkiller at home plus its interval: until then it is meant to work."""
    covers = medicine.drug in {each.drug for each in home}
    if medicine.every_hours is None or not medicine.doses or not covers:
        return None
    return medicine.doses[-1].at + float(medicine.every_hours) * HOUR


def gaps_between(
    start: dt.datetime, intervals: Iterable[CoverInterval], until: dt.datetime | None = None
) -> tuple[Gap, ...]:
    """The times from `start` in which no interval is at work, to `until`; None: to the last end.

    Intervals in order of their start.
    """
    gaps, covered = [], start
    for each in intervals:
        if each.starts > covered:
            gaps.append(Gap(covered, each.starts))
        covered = max(covered, each.ends)
    if until is not None and until > covered:
        gaps.append(Gap(covered, until))
    return tuple(gaps)


def hours_of_work(given: GivenInClinic, case: Case, formulary: Formulary) -> dt.timedelta | None:
    """How long one drug works at least; None: no analgesic that is known."""
    if formulary.is_nsaid(given.drug):
        return NSAID_IN_CLINIC
    fitting = [works for works in formulary.works if _fits(works, given, case)]
    named = [works for works in fitting if works.species] or fitting
    return min((float(works.hours) * HOUR for works in named), default=None)


def _fits(works: Works, given: GivenInClinic, case: Case) -> bool:
    if (works.drug, works.formulation) != (given.drug, given.formulation):
        return False
    if works.species and case.patient.species not in works.species:
        return False
    return _amount_fits(works, given)


def _amount_fits(works: Works, given: GivenInClinic) -> bool:
    """Whether enough was given;

    an amount that nobody wrote down counts as too little for the longer time.
    """
    low, high = works.from_mg_per_kg, works.below_mg_per_kg
    if given.mg_per_kg is None:
        return low is None
    amount = exact(given.mg_per_kg)
    return (low is None or amount >= exact(low)) and (high is None or amount < exact(high))


def _in_clinic(given: GivenInClinic, case: Case, formulary: Formulary) -> CoverInterval | None:
    works = hours_of_work(given, case, formulary)
    return None if works is None else CoverInterval(given.drug, given.at, given.at + works)


def _at_home(medicine: Medicine, case: Case, formulary: Formulary) -> list[CoverInterval]:
    """What each home dose covers."""
    return [
        CoverInterval(medicine.drug, dose.at, dose.at + works)
        for dose in medicine.doses
        if (works := _works_at_home(medicine, dose, case, formulary)) is not None
    ]


def _works_at_home(medicine: Medicine, dose: PlannedDose, case: Case, formulary: Formulary) -> dt.timedelta | None:
    """An NSAID works for its own interval, another analgesic for its hours of work."""
    if medicine.is_nsaid and medicine.every_hours is not None:
        return min(float(medicine.every_hours), NSAID_IN_CLINIC / HOUR) * HOUR
    delivered = dose.mg_per_kg_delivered
    amount = None if delivered is None else float(delivered)
    return hours_of_work(GivenInClinic(medicine.drug, dose.at, amount), case, formulary)
