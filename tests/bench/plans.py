"""Plans compiled per second: every species with every operation, each with the medicine that would be proposed."""

from __future__ import annotations

import datetime as dt
from itertools import product
from zoneinfo import ZoneInfo

from followup.domain.case import Case, GivenInClinic, Patient
from followup.domain.hours import OwnerHours
from followup.domain.plan import compile_plan
from followup.domain.terms import ClinicRoute, Procedure, Species
from followup.protocols.load import load
from followup.protocols.load_formulary import formulary
from tests.bench.measuring import measure

ENDED = dt.datetime(2026, 3, 10, 10, 30, tzinfo=dt.UTC)
GRAMS = {"guinea_pig": 900, "rabbit": 2400, "cat": 4000, "dog": 12000, "ferret": 1100, "rat": 400}


def compiled() -> None:
    """Print it."""
    known = formulary()
    pairs = [(case(*pair), load(f"{pair[0]}_{pair[1]}")) for pair in product(Species, Procedure)]
    found = measure(lambda: [compile_plan(*pair, known) for pair in pairs], times=30)
    each = found.at(0.5) / len(pairs)
    print(
        f"plans: {each:.2f} ms a plan, {1000 / each:.0f} a second (median of {len(found.times)} rounds of {len(pairs)})"
    )


def case(species: Species, procedure: Procedure) -> Case:
    """A healthy adult that goes home at four; the medicine is proposed."""
    return Case(
        patient=Patient(species, GRAMS[species], age_months=24),
        procedure=procedure,
        surgery_ended_at=ENDED,
        discharged_at=ENDED + dt.timedelta(hours=5),
        hours=OwnerHours(ZoneInfo("Europe/London")),
        given_in_clinic=(GivenInClinic("meloxicam", ENDED, 0.2, ClinicRoute.SC),),
        last_ate_before_discharge_at=ENDED + dt.timedelta(hours=4),
    )
