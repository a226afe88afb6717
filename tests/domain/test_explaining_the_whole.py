"""Drugs on board, what is unknown, what changed and what to do by when: the rest of an explanation."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from followup.domain.case import DischargeCard, GivenInClinic
from followup.domain.explaining import level_since
from followup.domain.observation import Observation
from followup.domain.terms import Closure, Formulation, Level, RingOrTunic, Species
from tests.domain.every_case import case_of
from tests.domain.explained import GOOD, PIG, dose, explained, of
from tests.domain.triage_cases import clock, recovery, seen, when
from tests.recoveries import at, guinea_pig, meloxicam


def given(drug: str, hour: str = "10:00", **more: Any) -> GivenInClinic:
    return GivenInClinic(drug, at(f"2025-03-10 {hour}"), mg_per_kg=0.05, **more)


@pytest.mark.parametrize(
    ("clinic", "look", "rule", "named"),
    [
        (given("buprenorphine"), seen("11 18:30", faeces="fewer"), "droppings_fewer_after_opioid", ["buprenorphine"]),
        (given("buprenorphine"), seen("13 09:59", faeces="fewer"), "droppings_fewer_after_opioid", ["buprenorphine"]),
        (given("buprenorphine"), seen("13 10:00", faeces="fewer"), "droppings_fewer_after_opioid", []),  # 72 h
        (given("buprenorphine"), seen("10 21:59", demeanour="dull"), "dull", ["buprenorphine"]),
        (given("buprenorphine"), seen("10 22:00", demeanour="dull"), "dull", []),  # 12 h
        (
            given("buprenorphine", formulation=Formulation.SLOW_RELEASE),
            seen("13 21:59", demeanour="dull"),
            "dull",
            ["buprenorphine"],
        ),  # 72 h of giving and 12 h more
        (given("medetomidine"), seen("11 09:59", demeanour="dull"), "dull", ["medetomidine"]),
        (given("medetomidine"), seen("11 10:00", demeanour="dull"), "dull", []),  # 24 h
        (given("lidocaine"), seen("10 18:00", balance="hind_legs_weak"), "head_tilt_or_hind_legs", ["lidocaine"]),
        (given("lidocaine"), seen("10 18:00", balance="head_tilt"), "head_tilt_or_hind_legs", []),
        (given("meloxicam"), seen("11 18:30", faeces="diarrhoea"), "diarrhoea", ["meloxicam"]),
        (given("medetomidine"), seen("10 18:30", warmth="cool_ears_feet"), "cool_ears_feet", ["medetomidine"]),
        (given("recovery feed"), seen("10 18:30", demeanour="dull"), "dull", []),
    ],
)
def test_drugs_on_board_are_named_while_they_can_explain_it(clinic, look, rule, named):
    case = guinea_pig(given_in_clinic=(clinic,), home_medication=())
    found = of(rule, [look], f"{look.at:%d %H:%M}", case)

    assert [drug.drug for drug in found.drugs] == named
    for drug in found.drugs:
        assert (clock(drug.at), drug.given) == ("10 10:00", "in the clinic")
        assert drug.source.text


def test_a_dose_at_home_is_named_as_given_or_as_planned_but_not_one_that_was_missed():
    def named(*reports: Observation) -> list[tuple[str, str | None]]:
        case = guinea_pig(given_in_clinic=(), home_medication=(meloxicam(),))
        runny = seen("12 18:30", faeces="diarrhoea")
        return [(each.given, clock(each.at)) for each in of("diarrhoea", [*reports, runny], "12 18:30", case).drugs]

    planned = [
        dose.at for dose in recovery(guinea_pig(given_in_clinic=(), home_medication=(meloxicam(),))).medication[0].doses
    ]
    assert named() == [("planned, not told of", clock(planned[-1]))]
    last = f"{planned[-1]:%d %H:%M}"
    assert named(dose(last)) == [("at home", last)]
    assert named(dose(last, "missed")) == [("planned, not told of", clock(planned[0]))]


def test_vomiting_may_come_from_an_nsaid():
    cat = case_of(Species.CAT, PIG.procedure, given_in_clinic=(given("meloxicam"),))
    found = of("vomiting", [seen("11 18:30", vomits=1)], "11 18:30", cat)

    assert [drug.drug for drug in found.drugs] == ["meloxicam"]


def test_what_nobody_has_prescribed_is_in_no_animal():
    case = guinea_pig(given_in_clinic=(), home_medication=None)
    whole = recovery(case, [seen("13 12:00", faeces="diarrhoea")])
    assert [each.drug for each in whole.medication if each.proposal] == ["meloxicam"]

    assert of("diarrhoea", [seen("13 12:00", faeces="diarrhoea")], "13 12:00", case).drugs == ()


def test_an_answer_from_before_the_last_check_in_does_not_answer_it():
    looks = [seen("10 18:30", **GOOD), seen("11 07:40", appetite="normal")]
    case = replace(PIG, given_in_clinic=(replace(given("meloxicam"), mg_per_kg=None),))
    unknown = explained(looks, "11 08:00", case).unknown

    assert "“How is the behaviour of Pip?”: not answered" in unknown
    assert "how much meloxicam the clinic gave" in unknown


def test_could_not_check_is_no_answer():
    assert recovery(PIG).check_ins[0].questions.count("warmth") == 1

    first = f"{recovery(PIG).check_ins[0].at:%d %H:%M}"
    unknown = explained([seen(first, **GOOD, warmth="not_checked")], first).unknown
    assert any("How warm?" in each for each in unknown)


def test_what_is_unknown_is_listed_with_what_it_counts_as():
    unknown = explained(
        [seen("10 18:30", appetite="less", unsure=["faeces"])], "10 18:40", replace(PIG, given_in_clinic=None)
    ).unknown

    assert "which drugs the clinic gave" in unknown
    assert "“Has Pip left droppings since the last time?”: not sure" in unknown
    assert "“How is the behaviour of Pip?”: not answered" in unknown
    assert "how the skin was closed: counts as closed" in unknown
    assert any(each.startswith("whether the ring or tunic was closed") for each in unknown)
    assert "weight since discharge" in unknown
    assert not any("eaten anything" in each for each in unknown)


def test_what_is_written_on_the_card_is_not_unknown():
    card = DischargeCard(closure=Closure.BURIED, ring_or_tunic=RingOrTunic.CLOSED, night_plan=False)
    unknown = explained(
        [seen("10 18:30", **GOOD, weight=900, pain=[])], "10 18:40", replace(PIG, discharge=card)
    ).unknown

    for words in ("closed", "night plan", "weight", "pain"):
        assert not any(words in each for each in unknown), unknown


def test_a_check_in_that_nobody_answered_is_unknown_as_a_whole():
    unknown = explained([seen("10 18:30", **GOOD)], "11 09:00").unknown

    assert "everything that the check-in of Tue 11 Mar 07:30 asks: no answer" in unknown


def test_what_the_newest_answer_changed():
    looks = [
        seen("11 07:40", appetite="normal", faeces="fewer", demeanour="dull", worried="a_little"),
        seen("11 18:30", appetite="less", faeces="normal", demeanour="dull", worried="a_little"),
    ]
    changes = explained(looks, "11 18:30").changes

    assert changes is not None
    assert (clock(changes.since), changes.was, changes.now) == ("11 18:30", Level.MONITOR, Level.URGENT)
    moved = {each.rule: (each.was, each.now) for each in changes.findings}
    assert "worried" not in moved
    assert moved["eats_less"] == (None, Level.MONITOR)
    assert moved["dull"] == (Level.MONITOR, Level.URGENT)
    assert moved["droppings_fewer"] == (Level.MONITOR, None)


def test_nothing_is_compared_before_the_first_answer():
    assert explained([], "10 19:00").changes is None


EVENING = seen("10 20:45", **GOOD)


def smells(text: str) -> Observation:
    return seen(text, **GOOD, wound_smell="yes")


def less(text: str) -> Observation:
    return seen(text, **{**GOOD, "appetite": "less"})


@pytest.mark.parametrize(
    ("looks", "now", "what", "by"),
    [
        ([seen("10 18:30", wound_bleeding="steady_drip")], "10 18:40", "a vet now, at any hour", "10 18:40"),
        # a grazer in its first 72 h: before the owner's bedtime, reckoned from when it was told
        ([EVENING, seen("11 08:00", **GOOD, wound_smell="yes")], "11 15:00", "speak to the owner", "11 20:00"),
        ([EVENING, seen("11 08:00", **GOOD), smells("11 12:00")], "11 15:00", "speak to the owner", "11 22:00"),
        # told at 71.8 h, looked at when 72 h have gone
        ([seen("13 08:00", **GOOD), smells("13 10:20")], "13 11:00", "speak to the owner", "13 22:00"),
        # later: 12 h; and where that is in the owner's night, before it
        ([seen("20 09:00", **GOOD, wound_smell="yes")], "20 15:00", "speak to the owner", "20 21:00"),
        ([seen("20 12:00", **GOOD, wound_smell="yes")], "20 15:00", "speak to the owner", "20 22:00"),
        ([EVENING, seen("11 08:00", **GOOD), less("11 12:00")], "11 15:00", "look at it on the next list", "12 12:00"),
        ([seen("10 18:30", **GOOD)], "10 18:40", "nothing to do", None),
    ],
)
def test_what_to_do_by_when(looks, now, what, by):
    explanation = explained(looks, now)

    assert (explanation.to_do.what, clock(explanation.to_do.by)) == (what, by)
    assert explanation.to_do.who
    for words in ("does not replace", "worried", "local rules"):
        assert words in explanation.caution


def test_a_level_that_was_interrupted_is_reckoned_from_its_return():
    looks = [
        seen("20 08:00", **GOOD, wound_smell="yes"),
        seen("20 10:00", **GOOD, wound_smell="no"),
        seen("20 12:00", **GOOD, wound_smell="yes"),
        seen("20 13:00", **GOOD, wound_redness="marked"),
    ]
    whole = recovery(PIG, looks)

    assert clock(level_since(whole, when("20 15:00"), Level.URGENT, when("20") - when("19"))) == "20 12:00"
