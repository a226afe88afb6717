"""What an owner may tell of a dose: given, not given, or something went wrong; and the facts that come of it.

Source of what went wrong: clinical defaults, 4, "Mishaps with medicine".
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from followup.domain.compiled import Medicine, PlannedDose
from followup.domain.exact import exact
from followup.domain.observation import DoseReport, OtherMedicine
from followup.domain.terms import DoseOutcome


class Told(StrEnum):
    """Each thing that can be told of one dose."""

    GIVEN = "given"
    MISSED = "missed"
    REFUSED = "refused"
    SPAT_OUT = "spat_out"
    VOMITED = "vomited"
    TOO_MUCH = "too_much"
    TWICE = "twice"
    WRONG_BOTTLE = "wrong_bottle"
    INTO_THE_LUNGS = "into_the_lungs"
    TO_ANOTHER_ANIMAL = "to_another_animal"
    OTHER_MEDICINE = "other_medicine"
    SOMETHING_ELSE = "something_else"

    @property
    def went_wrong(self) -> bool:
        """Whether it is a mishap, and no plain answer to "was it given?"."""
        return self in MISHAPS


MISHAPS = frozenset(
    {
        Told.TOO_MUCH,
        Told.TWICE,
        Told.WRONG_BOTTLE,
        Told.INTO_THE_LUNGS,
        Told.TO_ANOTHER_ANIMAL,
        Told.OTHER_MEDICINE,
        Told.SOMETHING_ELSE,
    }
)


@dataclass(frozen=True)
class Tale:
    """What was told. `ml` measured, `mg_per_ml` of another bottle, `what` another medicine: as far as known."""

    told: Told
    at: dt.datetime
    ml: Decimal | None = None
    mg_per_ml: Decimal | None = None
    what: str = ""


def outcome_of(tale: Tale) -> DoseOutcome | None:
    """What became of the planned dose; None: nothing is said of it, since it was another medicine."""
    if tale.told is Told.OTHER_MEDICINE:
        return None
    return DoseOutcome.WENT_WRONG if tale.told.went_wrong else DoseOutcome(tale.told.value)


def facts_of_tale(tale: Tale, medicine: Medicine, dose: PlannedDose) -> DoseReport | OtherMedicine:
    """The fact for triage. What went wrong and cannot be measured counts as unmeasured: urgent until a person knows."""
    outcome = outcome_of(tale)
    if outcome is None:
        return OtherMedicine(what=tale.what or "?", at=tale.at)
    went_in = outcome is DoseOutcome.GIVEN or tale.told in {Told.TOO_MUCH, Told.TWICE, Told.WRONG_BOTTLE}
    return DoseReport(
        drug=medicine.drug,
        outcome=outcome,
        given_at=tale.at if went_in else None,
        ml=_as_planned_ml(tale, medicine, dose),
        route_wrong=tale.told in {Told.INTO_THE_LUNGS, Told.TO_ANOTHER_ANIMAL},
    )


def _as_planned_ml(tale: Tale, medicine: Medicine, dose: PlannedDose) -> float | None:
    """What went in, as ml of the strength that is on the plan; None: not known, or not more than planned."""
    if dose.ml is None or medicine.mg_per_ml is None:
        return None
    went_in = _millilitres(tale, exact(medicine.mg_per_ml), exact(dose.ml))
    if went_in is None or (tale.told.went_wrong and went_in <= exact(dose.ml)):
        return None
    return float(went_in)


def _millilitres(tale: Tale, strength: Fraction, planned: Fraction) -> Fraction | None:
    measured = None if tale.ml is None else exact(tale.ml)
    if tale.told is Told.TWICE:
        return 2 * (measured or planned)
    if tale.told is Told.WRONG_BOTTLE:
        return None if tale.mg_per_ml is None else (measured or planned) * exact(tale.mg_per_ml) / strength
    return measured
