"""Running the simulation: so many recoveries by one seed, over as many processes as there are cores."""

from __future__ import annotations

import multiprocessing
import os
import random
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import cache, partial

from followup.domain.case import Case
from followup.domain.compiled import CompiledPlan
from followup.domain.observation import Observation
from followup.domain.plan import compile_plan
from followup.domain.protocol import Protocol
from followup.domain.recovery import Recovery
from followup.domain.silence import NOT_TRIAGED
from followup.domain.terms import Level, Observer, Species
from followup.protocols.load import load
from followup.protocols.load_formulary import formulary
from followup.vocabulary.load import vocabulary
from tests.bench.smooth.answering import ALTOGETHER_TRUE, Teller
from tests.bench.smooth.course import Course, course_of
from tests.bench.smooth.life import DAY, Life
from tests.bench.smooth.misreported import Errors, Graded, errors_for
from tests.bench.smooth.owners import Answering
from tests.bench.smooth.patients import patient_case

PILOT = 300
"""Recoveries from whose true answers the spread of the grades is taken. None of them is weighed by triage."""
LAST_DAY = 14


@dataclass(frozen=True)
class Lived:
    """What one simulated recovery came to. `alerts`: day, level and rule of each; `told`: its graded answers."""

    species: Species
    asked: int
    completed: tuple[int, ...]
    alerts: tuple[tuple[int, Level, str], ...]
    told: tuple[Graded, ...]
    weighed: int


def lived(
    number: int, seed: int, errors: Errors, *, extra: Sequence[Observation] = (), answers: bool | None = None
) -> Lived:
    """What recovery `number` of this seed came to; see `life_of`."""
    life = life_of(number, seed, errors, extra=extra, answers=answers)
    case = life.recovery.case
    return Lived(
        species=case.patient.species,
        asked=life.asked,
        completed=tuple(case.day(at) for at in life.completed),
        alerts=tuple((case.day(each.at), each.level, each.rule) for each in life.alerts),
        told=tuple(life.teller.graded),
        weighed=life.weighed,
    )


def life_of(
    number: int, seed: int, errors: Errors, *, extra: Sequence[Observation] = (), answers: bool | None = None
) -> Life:
    """Recovery `number` of this seed, lived to its last day.

    `answers` True, False: an owner who does, or never does, or else by lot. `extra`: seen besides, by hand.
    """
    rng, case, protocol, plan, course = _patient(number, seed)
    answering = Answering.one_of_them(case.hours, rng)
    life = Life(
        recovery=Recovery.of(
            case=case,
            rules=protocol.rules,
            pinned=protocol.pinned,
            vocabulary=vocabulary(),
            check_ins=plan.check_ins,
            medication=plan.medication,
            observations=(),
        ),
        teller=Teller(course, errors, rng),
        on_the_phone=Teller(course, ALTOGETHER_TRUE, rng, by=Observer.STAFF),
        answering=answering if answers is None else Answering(answers, case.hours, rng),
        rng=rng,
        ends=case.surgery_ended_at + LAST_DAY * DAY,
    )
    life.plan_ahead(plan, extra)
    life.run()
    return life


def simulated(count: int, seed: int, errors: Errors, *, processes: int | None = None) -> tuple[Lived, ...]:
    """So many recoveries; the same whatever the number of processes."""
    one = partial(lived, seed=seed, errors=errors)
    workers = processes or os.cpu_count() or 1
    if workers == 1 or "fork" not in multiprocessing.get_all_start_methods():
        return tuple(map(one, range(count)))
    with ProcessPoolExecutor(workers, mp_context=multiprocessing.get_context("fork")) as pool:
        return tuple(pool.map(one, range(count), chunksize=max(count // (workers * 8), 1)))


@cache
def owners_errors(seed: int, *, end: float | None = None) -> Errors:
    """How owners misreport, from the published kappa and the spread of the true grades of a pilot."""
    spread = [(true, top) for number in range(PILOT) for true, _, top in told_grades(number, seed, ALTOGETHER_TRUE)]
    return errors_for(spread, end=end)


def told_grades(number: int, seed: int, errors: Errors) -> tuple[Graded, ...]:
    """The graded answers of one patient's planned check-ins, without weighing them."""
    rng, case, _, plan, course = _patient(number, seed)
    answering, teller = Answering.one_of_them(case.hours, rng), Teller(course, errors, rng)
    since = case.discharged_at
    for check_in in plan.check_ins:
        at = answering.answers_at(check_in.at, case.since_surgery(check_in.at) / DAY)
        if at is not None and check_in.kind not in NOT_TRIAGED:
            teller.tells(check_in.questions, at, since, counts=True)
            since = at
    return tuple(teller.graded)


def _patient(number: int, seed: int) -> tuple[random.Random, Case, Protocol, CompiledPlan, Course]:
    rng = random.Random(f"{seed}:{number}")
    case = patient_case(rng)
    protocol = protocol_of(f"{case.patient.species}_{case.procedure}")
    return rng, case, protocol, compile_plan(case, protocol, formulary()), course_of(case, rng)


@cache
def protocol_of(name: str) -> Protocol:
    """One protocol that ships, read once."""
    return load(name)
