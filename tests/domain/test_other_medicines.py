"""What else goes home beside anti-inflammatories: ranges that warn and refuse, routes, intervals, what to mind.

The amounts are from memory of formularies (M) unless the row says otherwise; a practice confirms its own.
"""

from __future__ import annotations

import pytest

from followup.domain.case import Prescription
from followup.domain.terms import Form, HomeRoute, ProblemKind, Species
from followup.protocols.load_formulary import formulary
from tests.recoveries import guinea_pig, plan_of, rabbit

OTHERS = {
    "buprenorphine", "gabapentin", "maropitant", "metoclopramide", "cisapride", "simethicone", "enrofloxacin",
    "trimethoprim-sulfa", "metronidazole", "co-amoxiclav", "vitamin c", "recovery feed",
}  # fmt: skip


def asked(drug: str, **changes):
    facts = {"every_hours": 12, "days": 3, "mg_per_kg": 0.5, "mg_per_ml": 1, "syringe_ml": 1} | changes
    return Prescription(drug=drug, **facts)


def problems(case):
    return {(each.kind.value, each.path.rpartition(".")[2]): each.message for each in plan_of(case).problems}


def test_each_kind_that_goes_home_has_a_row_with_a_source_and_what_to_mind():
    rows = [row for row in formulary().rows if row.drug in OTHERS]
    assert {row.drug for row in rows} == OTHERS
    assert all(row.caution and row.source.text for row in rows)


@pytest.mark.parametrize(
    "row",
    [row for row in formulary().rows if row.drug in OTHERS and row.mg_per_kg],
    ids=lambda row: f"{row.drug}-{row.species}",
)
def test_the_usual_amount_is_below_every_limit(row):
    most = row.mg_per_kg * 24 / row.every_hours[-1]
    assert all(most <= limit.mg_per_kg_a_day for limit in row.limits if not limit.below), row


def test_it_is_printed_with_what_to_mind():
    said = problems(rabbit(home_medication=(asked("metoclopramide"),)))

    assert said["warning", "drug"] == (
        "metoclopramide: never with a tight or swollen belly, or when a blockage is possible"
    )
    assert "needs_vet" not in {kind for kind, path in said if path in {"drug", "mg_per_kg"}}


@pytest.mark.parametrize(
    ("mg_per_kg", "kind"),
    [(0.5, None), (0.8, "warning"), (1.6, "needs_vet"), (3.1, "refused")],  # twice a day: 1, 1.6, 3.2, 6.2 a day
)
def test_a_day_above_the_range_warns_then_needs_a_vet_then_is_refused(mg_per_kg, kind):
    said = problems(rabbit(home_medication=(asked("metoclopramide", mg_per_kg=mg_per_kg, syringe_ml=10),)))

    kinds = {each for each, path in said if path == "mg_per_kg"}
    assert kinds == ({kind} if kind == "warning" else {"warning", kind} if kind == "needs_vet" else kinds)
    assert (kind in kinds) if kind else kinds == set()


def test_a_drug_for_the_cheek_by_mouth_needs_a_vet():
    cheek = asked("buprenorphine", mg_per_kg=0.02, mg_per_ml=0.3, route=HomeRoute.CHEEK)
    swallowed = asked("buprenorphine", mg_per_kg=0.02, mg_per_ml=0.3, route=HomeRoute.SKIN)

    assert ("needs_vet", "route") not in problems(guinea_pig(home_medication=(cheek,)))
    said = problems(guinea_pig(home_medication=(swallowed,)))
    assert said["needs_vet", "route"] == "buprenorphine on the skin: usual is by mouth or into the cheek."


def test_a_fixed_amount_is_for_the_animal_and_not_by_weight():
    drops = Prescription("simethicone", 12, 3, Form.FIXED, fixed_amount=0.5, fixed_unit="ml")
    found = plan_of(rabbit(home_medication=(drops,)))

    (medicine,) = found.medication
    assert {dose.fixed for dose in medicine.doses} == {"0.5 ml"}
    assert len(medicine.doses) == 6  # 3 days x 24 / 12
    assert ProblemKind.NEEDS_VET not in {each.kind for each in found.problems if each.path.endswith("drug")}


def test_a_drug_that_is_not_in_the_table_still_needs_a_vet():
    said = problems(rabbit(home_medication=(asked("homeopathy"),)))
    assert "homeopathy is not in the table for this species" in said["needs_vet", "drug"]


def test_co_amoxiclav_is_for_cats_and_dogs_and_never_for_grazers():
    assert formulary().row("co-amoxiclav", Species.CAT) is not None
    assert formulary().row("co-amoxiclav", Species.RABBIT) is None
    assert ("refused", "drug") in problems(rabbit(home_medication=(asked("co-amoxiclav"),)))
