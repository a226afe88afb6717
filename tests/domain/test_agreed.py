"""A named vet's higher limit in a practice's own protocol, once for all its plans. Source: clinical defaults, 8."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from followup.domain.agreed import Agreed, with_agreed
from followup.domain.case import Prescription
from followup.domain.plan import compile_plan
from followup.domain.revising import Rules, Standing, Wanted, revise_plan
from followup.domain.sources import Source
from followup.domain.terms import Mark, ProblemKind, Species
from followup.protocols.load import merged_text, parse
from followup.protocols.load_formulary import formulary
from followup.protocols.refusals import BadProtocol
from tests.recoveries import guinea_pig, meloxicam

REFUSED, NEEDS_VET, WARNING = ProblemKind.REFUSED, ProblemKind.NEEDS_VET, ProblemKind.WARNING
HIGHER = """
[[agreed]]
drug = "meloxicam"
needs_vet_above = 1.5
vet = "A. Vet"
mark = "P"
source = "a trial of 1 mg/kg in this species"
"""
ANOTHER = """
[[agreed]]
drug = "homeopathy"
vet = "A. Vet"
mark = "C"
source = "common practice, no source"
"""


def protocol(more: str = ""):
    return parse(merged_text("guinea_pig_castration") + more)


def kinds(asked: Prescription, more: str, key: str = "mg_per_kg") -> set[ProblemKind]:
    found = compile_plan(guinea_pig(home_medication=(asked,)), protocol(more), formulary()).problems
    return {each.kind for each in found if each.path == f"$.home_medication[0].{key}"}


@pytest.mark.parametrize(
    ("mg_per_kg", "without", "with_it"),
    [
        (0.6, {WARNING}, {WARNING}),
        (1.0, {WARNING, NEEDS_VET}, {WARNING}),
        (1.5, {WARNING, NEEDS_VET}, {WARNING}),
        (1.51, {WARNING, NEEDS_VET}, {WARNING, NEEDS_VET}),
        (2.01, {WARNING, NEEDS_VET, REFUSED}, {WARNING, NEEDS_VET, REFUSED}),  # what is refused stays refused
    ],
)
def test_between_the_two_limits_a_plan_needs_no_vet(mg_per_kg, without, with_it):
    assert kinds(meloxicam(mg_per_kg), "") == without
    assert kinds(meloxicam(mg_per_kg), HIGHER) == with_it


def test_a_plan_that_changes_knows_it_too():
    case = guinea_pig(home_medication=(meloxicam(0.5),))
    before = compile_plan(case, protocol(HIGHER), formulary())
    changed = revise_plan(
        case,
        [Wanted(replace(meloxicam(1.0), days=2))],
        Standing(before, case.discharged_at),
        Rules(protocol(HIGHER), formulary()),
    )
    assert NEEDS_VET not in {each.kind for each in changed.problems if each.path.endswith("mg_per_kg")}


def test_a_drug_without_a_row_is_settled_once():
    asked = replace(meloxicam(), drug="homeopathy")
    assert kinds(asked, "", "drug") == {NEEDS_VET}
    assert kinds(asked, ANOTHER, "drug") == {WARNING}
    assert kinds(replace(asked, drug="another"), ANOTHER, "drug") == {NEEDS_VET}


def test_it_never_lowers_a_limit_and_concerns_one_species_alone():
    lower = Agreed("meloxicam", "A. Vet", Source(Mark("D"), "any"), Decimal("0.3"))
    higher = replace(lower, needs_vet_above=Decimal("1.5"))

    def bounds(agreed: Agreed, species: Species) -> list[str]:
        row = with_agreed(formulary(), Species.GUINEA_PIG, [agreed]).row("meloxicam", species)
        assert row is not None
        return [f"{each.mg_per_kg_a_day:f}" for each in row.limits if each.kind is NEEDS_VET]

    assert bounds(lower, Species.GUINEA_PIG) == ["0.6"]
    assert bounds(higher, Species.GUINEA_PIG) == ["1.5"]
    assert bounds(higher, Species.CAT) == ["0.1"]


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("1.5", "0.6", "agreed[0].needs_vet_above must be more than the table's own limit"),
        ("1.5", "2.0", "agreed[0].needs_vet_above must be less than 2.0, which is refused"),
        ("needs_vet_above = 1.5\n", "", "agreed[0].needs_vet_above must be more than the table's own limit"),
        ("A. Vet", " ", "agreed[0].vet must name the vet"),
        ('source = "a trial of 1 mg/kg in this species"', 'source = ""', "source must say where it comes from"),
        ("vet =", "who =", "agreed[0].vet is missing"),
    ],
)
def test_a_limit_without_a_vet_a_source_or_an_order_is_refused(old, new, says):
    with pytest.raises(BadProtocol) as refusal:
        protocol(HIGHER.replace(old, new))
    assert says in str(refusal.value)
