"""What each species and procedure is asked and kept from. Clinical defaults, 3, 7, 8, 10 (marks stand in the TOML)."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from itertools import product
from zoneinfo import ZoneInfo

import pytest

from followup.domain.case import Case, Patient
from followup.domain.hours import OwnerHours
from followup.domain.plan import compile_plan
from followup.domain.terms import CheckInKind, Procedure, Species
from followup.protocols.load import available
from followup.protocols.load_formulary import formulary

SURGERY = dt.datetime(2025, 3, 10, 11, tzinfo=dt.UTC)
WEIGHT = {"guinea_pig": 900, "rabbit": 2400, "cat": 4000, "dog": 12000, "ferret": 1100, "rat": 400}
SMALL = (Species.GUINEA_PIG, Species.RABBIT, Species.FERRET, Species.RAT)
ALL = tuple(product(Species, Procedure))


def plan(species: Species, procedure: Procedure, **about):
    """A healthy adult, home at four in the afternoon; nothing prescribed."""
    patient = Patient(species=species, weight_g=WEIGHT[species])
    case = Case(
        patient=patient,
        procedure=procedure,
        surgery_ended_at=SURGERY,
        discharged_at=SURGERY + dt.timedelta(hours=5),
        hours=OwnerHours(ZoneInfo("Europe/London")),
        home_medication=(),
    )
    case = replace(case, **about)
    protocol = next(each for each in available() if (each.species, each.procedure) == (species, procedure))
    return compile_plan(case, protocol, formulary())


def asked(found) -> list[tuple[int, str]]:
    return [(each.day, each.kind.value) for each in found.check_ins]


def restrictions(found) -> dict[str, int]:
    noon = dt.datetime(2025, 3, 10, 12, tzinfo=ZoneInfo("Europe/London"))
    return {each.what: (each.until.astimezone(noon.tzinfo).date() - noon.date()).days for each in found.restrictions}


@pytest.mark.parametrize(("species", "procedure"), ALL)
def test_every_plan_is_whole(species, procedure):
    found = plan(species, procedure)

    assert found.protocol == f"{species.value}_{procedure.value}@1"
    assert [review.day for review in found.wound_reviews] == [3, 10]
    assert found.check_ins[-1].kind is CheckInKind.OUTCOME
    assert [each.day for each in found.check_ins if each.photo] in ([3, 10], [3])
    core = {"appetite", "last_ate_at", "faeces", "last_faeces_at", "demeanour", "worried", "text"}
    assert all(core <= set(each.questions) for each in found.check_ins)
    assert {"warmth", "wound.bleeding", "breathing", "urine"} <= set(found.check_ins[0].questions)


@pytest.mark.parametrize("species", SMALL)
def test_small_mammals_are_asked_most_in_the_first_two_days(species):
    assert asked(plan(species, Procedure.SPAY)) == [
        (0, "evening"), (0, "bedtime"), (1, "waking"), (1, "evening"), (2, "waking"), (2, "evening"), (3, "evening"),
        (4, "evening"), (5, "evening"), (7, "evening"), (10, "evening"), (12, "evening"), (14, "outcome"),
    ]  # fmt: skip


def test_a_castrated_cat_is_asked_five_times_before_day_30():
    found = asked(plan(Species.CAT, Procedure.CASTRATION))
    assert found == [(0, "evening"), (1, "evening"), (3, "evening"), (7, "evening"), (14, "outcome")]


@pytest.mark.parametrize(
    ("species", "procedure"),
    [each for each in ALL if each[0] not in SMALL and each != (Species.CAT, Procedure.CASTRATION)],
)
def test_other_cats_and_dogs_nine_times_before_day_30(species, procedure):
    assert asked(plan(species, procedure)) == [
        (0, "evening"), (1, "waking"), (1, "evening"), (2, "evening"), (3, "evening"), (5, "evening"), (7, "evening"),
        (10, "evening"), (14, "outcome"),
    ]  # fmt: skip


KEPT = {
    (Species.GUINEA_PIG, "castration"): {"soft_bedding": 3, "kept_apart_from_entire_females": 42},
    (Species.RABBIT, "castration"): {"soft_bedding": 3, "kept_apart_from_entire_females": 42},
    (Species.FERRET, "castration"): {"soft_bedding": 3, "kept_apart_from_entire_females": 42},
    (Species.RAT, "castration"): {"soft_bedding": 3, "kept_apart_from_entire_females": 42},
    (Species.CAT, "castration"): {"indoors": 5, "kept_apart_from_entire_females": 42},
    (Species.CAT, "spay"): {"indoors": 10},
    (Species.DOG, "castration"): {"lead_only": 14, "kept_apart_from_entire_females": 30},
}
ALWAYS = {Species.CAT: {}, Species.DOG: {"lead_only": 14}, **{each: {"soft_bedding": 3} for each in SMALL}}


@pytest.mark.parametrize(("species", "procedure"), ALL)
def test_what_it_must_not_do_and_for_how_long(species, procedure):
    wound = {} if procedure is Procedure.DENTAL else {"no_bathing": 14, "protect_wound": 14}
    known = KEPT.get((species, procedure.value), ALWAYS[species])
    assert restrictions(plan(species, procedure)) == {**wound, **known}


@pytest.mark.parametrize(
    ("species", "bands"),
    [
        (Species.GUINEA_PIG, (855, 810, 765)),  # 900 g less 5, 10, 15 %
        (Species.RABBIT, (2280, 2160, 2040)),
        (Species.FERRET, (1045, 990, 935)),
        (Species.RAT, (380, 360, 340)),
        (Species.CAT, (3800, 3600, None)),
        (Species.DOG, (11400, 10800, None)),
    ],
)
def test_the_weights_at_which_somebody_looks(species, bands):
    found = plan(species, Procedure.SPAY).weight_alerts
    assert (found.monitor, found.urgent, found.emergency) == bands


@pytest.mark.parametrize("species", list(Species))
def test_how_long_an_answer_may_take(species):
    first = plan(species, Procedure.SPAY).check_ins[0]  # 18:30 on the day of surgery
    waits = (first.answer_by - first.at).total_seconds() / 3600
    # + 4 h for guinea pig and rabbit, 22:30, and + 12 h for others, 06:30: both fall asleep, so the next waking, 07:00
    assert waits == 12.5


@pytest.mark.parametrize("species", list(Species))
def test_from_72_hours_on_an_answer_may_take_a_day(species):
    found = plan(
        species, Procedure.SPAY, surgery_ended_at=SURGERY.replace(hour=18, minute=30),
        discharged_at=SURGERY + dt.timedelta(hours=22),
    )  # fmt: skip
    day_3 = next(each for each in found.check_ins if each.day == 3)  # 18:30, exactly 72 h on
    assert day_3.answer_by - day_3.at == dt.timedelta(hours=24)
    day_2 = next(each for each in found.check_ins if (each.day, each.kind.value) == (2, "evening"))
    assert day_2.answer_by - day_2.at == dt.timedelta(hours=12.5)  # 22:30 or 06:30 is asleep: the next waking, 07:00


def test_only_grazers_have_a_figure_for_recovery_feed():
    found = {each: plan(each, Procedure.SPAY).feeding.assisted_ml_per_day for each in Species}
    assert found.pop(Species.GUINEA_PIG) == (36, 54)  # 0.9 kg x 40 to 60 ml
    assert found.pop(Species.RABBIT) == (96, 144)
    assert set(found.values()) == {None}
    meals = {each: plan(each, Procedure.SPAY).feeding.meals_per_day for each in Species}
    assert (meals.pop(Species.GUINEA_PIG), meals.pop(Species.RABBIT)) == (5, 5)
    assert set(meals.values()) == {None}


def test_the_groin_is_asked_about_after_a_castration_alone():
    for species, procedure in ALL:
        evenings = [
            each for each in plan(species, procedure).check_ins if each.day in (1, 2) and each.kind == "evening"
        ]
        assert evenings
        for each in evenings:  # a castrated cat has none on day 2
            has = "scrotum_or_groin" in each.questions
            assert has is (procedure is Procedure.CASTRATION), (species, procedure, each.day)
