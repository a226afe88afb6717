"""A plain case of any species and operation: nothing given, nothing sent home, eaten and passed before discharge."""

from __future__ import annotations

import datetime as dt
from typing import Any

from followup.domain.case import Case, Patient
from followup.domain.hours import OwnerHours
from followup.domain.terms import Procedure, Sex, Species
from tests.recoveries import LONDON, at

GRAMS = {
    Species.GUINEA_PIG: 900,
    Species.RABBIT: 2400,
    Species.CAT: 4000,
    Species.DOG: 12000,
    Species.FERRET: 1100,
    Species.RAT: 400,
}
SEX = {Procedure.CASTRATION: Sex.MALE, Procedure.SPAY: Sex.FEMALE}


def case_of(species: Species, procedure: Procedure, *, age_months: float | None = 12, **changes: Any) -> Case:
    """Surgery ended at 10:30 on 10 March 2025, home at 16:30, all well in between."""
    ended = at("2025-03-10 10:30")
    facts: dict[str, Any] = {
        "given_in_clinic": (),
        "home_medication": (),
        "last_ate_before_discharge_at": ended + dt.timedelta(hours=5),
        "last_faeces_before_discharge_at": ended + dt.timedelta(hours=5),
        "last_urine_before_discharge_at": ended + dt.timedelta(hours=5),
    }
    return Case(
        patient=Patient(
            species, GRAMS[species], name="Pip", sex=SEX.get(procedure, Sex.UNKNOWN), age_months=age_months
        ),
        procedure=procedure,
        surgery_ended_at=ended,
        discharged_at=ended + dt.timedelta(hours=6),
        hours=OwnerHours(LONDON),
        **(facts | changes),
    )
