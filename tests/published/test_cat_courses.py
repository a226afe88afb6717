"""How meloxicam may go on at home in a cat, by the product information of each market.

P: EU and UK: at most 4 doses by mouth of 0.05 mg/kg after one injection of 0.2 mg/kg, the first 24 h later; none after
an injection of 0.3 mg/kg. P: USA: none by mouth after any injection.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest

from followup.domain.case import GivenInClinic, Patient
from followup.domain.plan import compile_plan
from followup.domain.terms import ClinicRoute, Jurisdiction, ProblemKind, Procedure, Species
from followup.protocols.load import load
from followup.protocols.load_formulary import formulary
from tests.recoveries import guinea_pig, meloxicam

GIVEN_AT = guinea_pig().surgery_ended_at - dt.timedelta(minutes=30)


def plan(days: int, *, injected: float, jurisdiction: Jurisdiction = Jurisdiction.EU_UK):
    case = replace(
        guinea_pig(),
        patient=Patient(Species.CAT, 4000, age_months=12),
        procedure=Procedure.CASTRATION,
        jurisdiction=jurisdiction,
        given_in_clinic=(GivenInClinic("meloxicam", GIVEN_AT, injected, ClinicRoute.SC),),
        home_medication=(meloxicam(0.05, days=days),),
    )
    return compile_plan(case, load("cat_castration"), formulary())


def kinds(found, key: str) -> set[ProblemKind]:
    return {each.kind for each in found.problems if each.path.endswith(key)}


@pytest.mark.parametrize(("days", "asks"), [(4, set()), (5, {ProblemKind.NEEDS_VET})])
def test_four_doses_by_mouth_after_the_injection(days, asks):
    found = plan(days, injected=0.2)

    assert kinds(found, "days") == asks
    first = found.medication[0].doses[0]
    assert (first.at - GIVEN_AT, float(first.ml)) == (dt.timedelta(hours=24), 0.4)  # 4 kg x 0.05 mg/kg / 0.5 mg/ml
    assert len(found.medication[0].doses) == days


@pytest.mark.parametrize(
    ("injected", "jurisdiction"), [(0.3, Jurisdiction.EU_UK), (0.2, Jurisdiction.US), (0.3, Jurisdiction.US)]
)
def test_none_after_the_larger_injection_and_none_in_the_usa(injected, jurisdiction):
    found = plan(4, injected=injected, jurisdiction=jurisdiction)

    assert ProblemKind.REFUSED in kinds(found, "drug")
    assert found.medication[0].doses == ()
