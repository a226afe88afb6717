"""What a case file may not say at once. A case that is judged must be free of it; a plan reads no observations."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterator

from followup.casefile.case_in import CaseFile
from followup.casefile.observation_json import TOLD
from followup.casefile.refusals import BadCase
from followup.domain.observation import Observation
from followup.domain.terms import Procedure, Sex

NOT_OF = {Procedure.SPAY: Sex.MALE, Procedure.CASTRATION: Sex.FEMALE}
"""Which sex an operation is not done on."""


def moment_to_judge(found: CaseFile) -> dt.datetime:
    """The case's `now`. Raises BadCase when it has none."""
    if found.now is None:
        raise BadCase("$.now", "is missing: the moment at which to judge the case")
    return found.now


def refuse_contradictions(found: CaseFile, drugs: Collection[str], now: dt.datetime) -> None:
    """Raises BadCase at the first one. `drugs`: those of the plan, in the names that it prints."""
    patient = found.case.patient
    if NOT_OF.get(found.case.procedure) is patient.sex:
        raise BadCase("$.patient.sex", f"is {patient.sex}, but the operation is a {found.case.procedure}")
    for index, seen in enumerate(found.observations):
        for key, why in _wrong(seen, drugs, now):
            raise BadCase(f"$.observations[{index}].{key}", why)


def _wrong(seen: Observation, drugs: Collection[str], now: dt.datetime) -> Iterator[tuple[str, str]]:
    if seen.at > now:
        yield "at", "is after now"
    for key, moment in _told_of(seen):
        if moment > seen.at:
            yield key, "is after the observation"
    if seen.dose is not None and seen.dose.drug not in drugs:
        known = ", ".join(sorted(drugs)) or "no medicine"
        yield "dose.drug", f"{seen.dose.drug!r} is not in the plan, which has {known}"


def _told_of(seen: Observation) -> Iterator[tuple[str, dt.datetime]]:
    """Every time that an observation tells of, by its key."""
    for sign, key in TOLD.items():
        told = seen.told.get(sign)
        if told is not None:
            yield key, told.latest
    if seen.dose is not None and seen.dose.given_at is not None:
        yield "dose.given_at", seen.dose.given_at
    if seen.other_medicine is not None and seen.other_medicine.at is not None:
        yield "other_medicine.at", seen.other_medicine.at
