"""Who is operated on in the simulation: one patient after another, by the stated mix."""

from __future__ import annotations

import datetime as dt
import random
from collections.abc import Mapping
from typing import TypeVar
from zoneinfo import ZoneInfo

from followup.domain.case import Case, DischargeCard, GivenInClinic, Patient
from followup.domain.hours import Away, OwnerHours
from followup.domain.terms import Approach, ClinicRoute, Closure, Procedure, RingOrTunic, Sex, Species
from tests.bench.plans import GRAMS
from tests.bench.smooth import assumed

LONDON = ZoneInfo("Europe/London")
FIRST_MONDAY = dt.date(2025, 3, 3)
MINUTE = dt.timedelta(minutes=1)
SMALL_CASTRATES = frozenset({Species.GUINEA_PIG, Species.RABBIT, Species.FERRET, Species.RAT})
One = TypeVar("One")


def patient_case(rng: random.Random) -> Case:
    """One operation on a weekday morning, home in the afternoon; the medicine is what the program proposes."""
    species, procedure = _of(assumed.SPECIES_MIX, rng), _of(assumed.PROCEDURE_MIX, rng)
    day = FIRST_MONDAY + dt.timedelta(days=7 * rng.randrange(40) + rng.randrange(5))
    morning = dt.datetime.combine(day, dt.time(9), LONDON).astimezone(dt.UTC)
    ended = morning + rng.randrange(240) * MINUTE
    home = max(ended + 180 * MINUTE, morning + (330 + rng.randrange(180)) * MINUTE)
    ate = rng.random() < assumed.ATE_IN_CLINIC[species]
    return Case(
        patient=Patient(species, GRAMS[species], sex=_sex(procedure, rng), age_months=24),
        procedure=procedure,
        surgery_ended_at=ended,
        discharged_at=home,
        hours=_hours(rng),
        given_in_clinic=(GivenInClinic("meloxicam", ended, 0.2, ClinicRoute.SC),),
        last_ate_before_discharge_at=ended + (home - ended) * rng.uniform(0.4, 0.95) if ate else None,
        discharge=_card(species, procedure, rng),
    )


def _hours(rng: random.Random) -> OwnerHours:
    work = Away(frozenset(range(5)), dt.time(9), dt.time(17))
    return OwnerHours(
        LONDON,
        wakes=rng.choice((dt.time(6), dt.time(7), dt.time(7), dt.time(8))),
        sleeps=rng.choice((dt.time(22), dt.time(22), dt.time(22, 30), dt.time(23))),
        away=(work,) if rng.random() < assumed.AWAY_AT_WORK else (),
    )


def _card(species: Species, procedure: Procedure, rng: random.Random) -> DischargeCard:
    scales = rng.random() < assumed.HOME_SCALES[species]
    if procedure is Procedure.DENTAL:
        return DischargeCard(approach=Approach.ORAL, closure=Closure.NONE, home_scales=scales)
    ring = None
    if procedure is Procedure.CASTRATION and species in SMALL_CASTRATES:
        ring = RingOrTunic.CLOSED if rng.random() < 0.6 else RingOrTunic.UNKNOWN
    return DischargeCard(
        approach=Approach.SCROTAL if procedure is Procedure.CASTRATION else Approach.MIDLINE,
        closure=_closure(species, procedure, rng),
        ring_or_tunic=ring,
        home_scales=scales,
    )


def _closure(species: Species, procedure: Procedure, rng: random.Random) -> Closure:
    if (species, procedure) == (Species.CAT, Procedure.CASTRATION):
        return Closure.LEFT_OPEN
    return rng.choice((Closure.BURIED, Closure.BURIED, Closure.GLUE, Closure.SKIN_STITCHES))


def _sex(procedure: Procedure, rng: random.Random) -> Sex:
    known = {Procedure.CASTRATION: Sex.MALE, Procedure.SPAY: Sex.FEMALE}
    return known.get(procedure) or rng.choice((Sex.MALE, Sex.FEMALE))


def _of(mix: Mapping[One, float], rng: random.Random) -> One:
    return rng.choices(list(mix), list(mix.values()))[0]
