"""What the sheet says of feeding and of the wound: amounts only where a vet wrote them."""

from __future__ import annotations

import pytest

from followup.casefile import read_case
from followup.domain.plan import compile_plan
from followup.protocols.load import load
from followup.protocols.load_formulary import formulary
from followup.services.feeding_words import feeding_words, wound_words
from tests import world


def feeding(species="guinea_pig", **card):
    case = read_case(world.case_json(species, discharge=card))
    protocol = load(f"{species}_{world.PROCEDURES[species]}")
    return " ".join(feeding_words(case, compile_plan(case, protocol, formulary()).feeding))


def wound(**card):
    return " ".join(wound_words(read_case(world.case_json(discharge=card))))


@pytest.mark.parametrize("species", ["guinea_pig", "rabbit"])
def test_eating_matters_most_and_a_syringe_is_not_for_a_tight_belly(species):
    shown = feeding(species)

    assert "Nothing eaten for 6 hours: phone. For 12 hours: it is an emergency." in shown
    assert "Never feed with a syringe when the belly is tight or swollen" in shown


def test_no_amount_is_named_that_no_vet_wrote():
    assert " ml" not in feeding()


def test_the_vet_s_amount_is_split_into_meals():
    """45 ml a day / 5 meals = 9 ml."""
    assert "45 ml a day, made up with water. That is 5 meals of about 9 ml." in feeding(feeding_ml_per_day=45)


def test_an_uneven_amount_is_rounded_to_a_tenth():
    """47 ml / 5 = 9.4 ml."""
    assert "5 meals of about 9.4 ml" in feeding(feeding_ml_per_day=47)


def test_the_plan_for_the_nights_is_kept_to():
    assert "feeding plan for the nights: keep to it" in feeding(night_plan=True)
    assert "nights" not in feeding(night_plan=False)


@pytest.mark.parametrize(
    ("card", "said"),
    [
        ({"closure": "buried"}, "go away by themselves"),
        ({"closure": "glue"}, "7 to 10 days"),
        ({"closure": "skin_stitches"}, "ask us when"),
        ({"closure": "skin_stitches", "stitches_out_on": "2025-03-20"}, "Stitches come out on Thursday 20 March."),
    ],
)
def test_what_becomes_of_the_stitches(card, said):
    assert said in wound(**card)


@pytest.mark.parametrize(
    ("species", "company", "says"),
    [
        ("guinea_pig", "bonded", True),
        ("rabbit", "group", True),
        ("rabbit", "alone", False),
        ("guinea_pig", None, False),
    ],
)
def test_a_small_mammal_stays_near_its_friend_behind_a_mesh(species, company, says):
    card = {} if company is None else {"company": company}
    words = " ".join(wound_words(read_case(world.case_json(species, discharge=card))))
    assert ("with a mesh between for the first two nights" in words) is says


def test_of_an_unknown_closure_nothing_is_said():
    assert wound() == ""
