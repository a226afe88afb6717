"""Something went wrong with a medicine. Source: clinical defaults, 4, "Mishaps with medicine" (D; cats: P)."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from followup.domain.case import Case, GivenInClinic, Patient
from followup.domain.drug_groups import ANIMAL_NSAIDS, HUMAN_NSAIDS
from followup.domain.medicine_rules import held_drugs
from followup.domain.mishaps import mishap_findings
from followup.domain.observation import DoseReport, Observation, OtherMedicine
from followup.domain.plan import compile_plan
from followup.domain.recovery import Recovery, Release
from followup.domain.steady_rules import Mishaps
from followup.domain.terms import ClinicRoute, DoseOutcome, Level, Procedure, Sex, Species
from followup.domain.triage import triage
from followup.protocols.load import load
from followup.protocols.load_formulary import formulary
from tests.domain.triage_cases import recovery, seen, when
from tests.recoveries import at, guinea_pig, meloxicam

PIG = guinea_pig(home_medication=(meloxicam(),))
"""0.18 ml of 0.5 mg/ml at 10:00 on the 11th and the 12th."""

TOM = replace(
    PIG,
    patient=Patient(Species.CAT, 4000, name="Tom", sex=Sex.MALE, age_months=24),
    procedure=Procedure.CASTRATION,
    given_in_clinic=(GivenInClinic("meloxicam", at("2025-03-10 10:00"), 0.2, ClinicRoute.SC),),
    home_medication=(meloxicam(0.05),),
)
"""0.4 ml of 0.5 mg/ml."""


def told(text: str, outcome: str = "given", **more: Any) -> Observation:
    return Observation(at=when(text), dose=DoseReport("meloxicam", DoseOutcome(outcome), **more))


def other(what: str) -> Observation:
    return Observation(at=when("11 12:00"), other_medicine=OtherMedicine(what))


def worst(case: Case, *observations: Observation) -> str:
    found = [each.level for each in mishap_findings(recovery(case, observations))]
    return max(found, default=Level.ON_TRACK).word


@pytest.mark.parametrize(
    ("ml", "pig", "tom"),
    [
        (0.18, "on_track", None),
        (0.26, "monitor", None),
        (0.27, "urgent", None),  # exactly half as much again
        (0.53, "urgent", None),
        (0.54, "emergency", None),  # the stronger of the two bottles: exactly three times
        (0.4, None, "on_track"),
        (0.59, None, "monitor"),
        (0.6, None, "emergency"),  # an NSAID in a cat
    ],
)
def test_too_much(ml, pig, tom):
    if pig is not None:
        assert worst(PIG, told("11 10:00", ml=ml)) == pig
    if tom is not None:
        assert worst(TOM, told("11 10:00", ml=ml)) == tom


def test_above_the_hard_limit_of_a_day_is_an_emergency_although_it_is_not_three_times_as_much():
    """0.8 mg/kg a day is planned, the hard limit is 2.0: 1.8 times is urgent, and with an earlier dose above it."""
    case = replace(PIG, home_medication=(meloxicam(0.8, every_hours=12, days=1),))
    (medicine,) = recovery(case).medication
    once = medicine.doses[0].ml
    assert once is not None
    assert worst(case, told("11 10:00", ml=float(once) * 1.8)) == "urgent"
    assert worst(case, told("11 07:10", ml=float(once)), told("11 19:00", ml=float(once) * 1.8)) == "emergency"


@pytest.mark.parametrize(
    ("later", "level"),
    [("11 10:10", "on_track"), ("11 10:11", "urgent"), ("12 07:59", "urgent"), ("12 08:00", "on_track")],
)
def test_a_second_dose_inside_the_shortest_spacing(later, level):
    """Within ten minutes it is one dose told twice; from 22 h on it is the next one."""
    assert worst(PIG, told("11 10:00"), told(later)) == level
    assert worst(TOM, told("11 10:00"), told("11 15:00")) == "emergency"


def test_a_missed_dose_told_twice_is_no_second_dose():
    assert worst(PIG, told("11 10:00", "missed"), told("11 12:00")) == "on_track"


@pytest.mark.parametrize(("what", "pig", "tom"), [
    ("a spoon of Ibuprofen for children", "emergency", "emergency"),
    ("half a paracetamol", "emergency", "emergency"),
    ("the dog's carprofen", "urgent", "emergency"),
    ("some drops of my sister's cat", "urgent", "urgent"),
])  # fmt: skip
def test_a_medicine_that_is_not_on_the_plan(what, pig, tom):
    assert (worst(PIG, other(what)), worst(TOM, other(what))) == (pig, tom)


def test_a_painkiller_for_people_that_the_vet_prescribed_is_none_of_these():
    case = replace(PIG, home_medication=(replace(meloxicam(10), drug="aspirin", mg_per_ml=10),))
    assert worst(case, other("aspirin")) == "urgent"


def test_something_went_wrong_and_nobody_says_what():
    assert worst(PIG, told("11 10:00", "went_wrong")) == "urgent"
    assert worst(PIG, told("11 10:00", "went_wrong", route_wrong=True)) == "emergency"
    stranger = Observation(at=when("11 10:00"), dose=DoseReport("maropitant", DoseOutcome.WENT_WRONG))
    assert worst(PIG, stranger) == "urgent"


def test_the_names_are_those_of_the_formulary():
    assert formulary().nsaids - set(HUMAN_NSAIDS) == set(ANIMAL_NSAIDS)
    assert set(Mishaps().for_people) - {"paracetamol"} < formulary().nsaids


def released(at_: str, *observations: Observation) -> Recovery:
    return replace(recovery(PIG, observations), releases=(Release("meloxicam", when(at_)),))


@pytest.mark.parametrize("mishap", [told("11 10:00", ml=0.2), told("11 10:00", "went_wrong")])
def test_every_mishap_holds_the_drug_until_a_vet_releases_it(mishap):
    assert held_drugs(recovery(PIG, [mishap]), when("12 07:00")) == ("meloxicam",)
    assert held_drugs(released("11 09:00", mishap), when("12 07:00")) == ("meloxicam",)
    assert held_drugs(released("11 11:00", mishap), when("12 07:00")) == ()


def test_a_release_covers_the_signs_seen_until_then_and_no_later_one():
    def poorly(text: str) -> Observation:
        return seen(text, appetite="none")

    assert held_drugs(recovery(PIG, [poorly("11 07:30")]), when("11 08:00")) == ("meloxicam",)
    assert held_drugs(released("11 07:45", poorly("11 07:30")), when("11 08:00")) == ()
    assert held_drugs(released("11 07:45", poorly("11 07:30"), poorly("11 09:00")), when("11 09:30")) == ("meloxicam",)


def test_a_release_is_not_known_before_it_was_given():
    late = released("11 12:00", told("11 10:00", "went_wrong"))
    assert triage(late, when("11 11:59")).held_drugs == ("meloxicam",)
    assert triage(late, when("11 12:00")).held_drugs == ()


def test_the_plan_carries_the_hard_limit_of_a_day():
    limits = {
        each.drug: each.hard_limit_mg_per_kg_a_day
        for each in compile_plan(PIG, load("guinea_pig_castration"), formulary()).medication
    }
    assert f"{limits['meloxicam']}" == "2.0"


@pytest.mark.parametrize(
    "what",
    [
        "half a Paracetamol",
        "de l'ibuprofène",
        "un peu de paracétamol",
        "Acetylsalicylsäure",
        "naproxeno",
        "my own painkiller",
    ],
)
def test_a_painkiller_for_people_is_known_by_its_name_in_four_languages(what):
    assert worst(PIG, other(what)) == "emergency"


def test_one_that_the_vet_prescribed_is_none_of_them():
    aspirin = replace(PIG, home_medication=(meloxicam(drug="aspirin"),))

    assert [each.rule for each in mishap_findings(recovery(aspirin, [other("aspirine")]))] != ["human_painkiller"]
