"""The medicines of a running plan as they would go on if nothing changed."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

from followup.domain.case import Prescription
from followup.domain.exact import exact
from followup.domain.proposing import in_force
from followup.domain.revising import Wanted
from followup.models import Plan
from followup.protocols.load_formulary import formulary
from followup.services.dose_rows import Key
from followup.services.facts import case_of, compiled_of


def doses_to_come(plan: Plan, over: Mapping[Key, object]) -> dict[str, int]:
    """How many doses of each drug are still to come; a drug with none is left out."""
    counts = {
        each.drug: sum((each.drug, dose.number) not in over for dose in each.doses)
        for each in compiled_of(plan).medication
    }
    return {drug: count for drug, count in counts.items() if count}


def kept(plan: Plan, over: Mapping[Key, object], doses: Mapping[str, int | None] | None = None) -> list[Wanted]:
    """The medicines in force that have doses to come, at their times.

    `doses`: only these drugs, each with how many are still to come; None: as planned.
    """
    to_come = doses_to_come(plan, over)
    asked = {each.drug: each for each in in_force(case_of(plan), formulary())}
    wanted = dict.fromkeys(to_come) if doses is None else dict(doses)
    counts = {drug: to_come.get(drug, 0) if count is None else count for drug, count in wanted.items()}
    return [_kept(asked[drug], count) for drug, count in counts.items() if count and drug in asked]


def _kept(asked: Prescription, doses: int) -> Wanted:
    days = math.ceil(Fraction(doses) * exact(asked.every_hours) / 24)
    return Wanted(replace(asked, days=days), keeps_times=True, doses=doses)
