"""When a running clock is asked about again; what day 14 asks; closed lists of words. Clinical defaults, 7 and 8."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from followup.domain.case import Patient
from followup.domain.terms import CheckInKind, Outcome, Procedure, Sex, Species
from followup.protocols.load_formulary import formulary
from tests.domain.triage_cases import clock, seen, verdict
from tests.recoveries import at, guinea_pig, plan_of, rabbit

PIG = guinea_pig(home_medication=())
NOTHING: dict[str, Any] = {"appetite": "none", "faeces": "normal"}


def asks(observations, now: str) -> tuple[str | None, tuple[str, ...]]:
    found = verdict(PIG, observations, now).ask
    return (clock(found.at), found.questions) if found is not None else (None, ())


def test_a_running_clock_is_asked_about_at_bedtime_and_on_waking():
    """Day 3 has one check-in, at 18:30: bedtime at 20:45 and waking at 07:30 are asked because of the clock."""
    evening = seen("13 18:31", ate="13 18:00", **NOTHING)
    assert asks([evening], "13 18:31") == ("13 20:45", ("appetite", "last_ate_at"))
    bedtime = seen("13 20:46", ate="13 20:30", **NOTHING)
    when_next, keys = asks([evening, bedtime], "13 20:46")
    assert (when_next, keys) == ("14 07:00", ("appetite", "last_ate_at"))
    well = seen("13 20:46", appetite="normal", faeces="normal")
    assert asks([evening, well], "13 20:46") == (None, ())


def test_never_sooner_than_an_hour_after_the_answer():
    """6 h without food come at 14:00; half an hour before is 13:30, but an answer of 12:50 is not an hour old then."""
    at_noon = seen("11 12:00", ate="11 08:00", **NOTHING)
    assert asks([at_noon], "11 12:00")[0] == "11 13:30"
    later = seen("11 12:50", ate="11 08:00", **NOTHING)
    assert asks([later], "11 12:50")[0] == "11 13:50"
    too_late = seen("11 13:10", ate="11 08:00", **NOTHING)  # an hour on, it has risen already
    assert asks([too_late], "11 13:10") == (None, ())  # the check-in at 18:30 asks


def test_the_question_of_day_14_is_no_silence():
    case = replace(PIG, discharged_at=at("2025-03-10 16:30"))
    assert [each.kind for each in plan_of(case).check_ins if each.day == 14] == [CheckInKind.OUTCOME]
    last = seen("22 18:40", appetite="normal", faeces="normal", demeanour="bright")  # day 12
    assert verdict(case, [last], "30 12:00").level.word == "on_track"
    assert verdict(case, [], "30 12:00").level.word == "urgent"  # never heard from: that is silence


def test_the_classes_of_the_outcome_audit():
    assert {each.value for each in Outcome} == {
        "none", "abnormal_no_treatment", "medical_treatment", "surgical_treatment", "died", "lost",
    }  # fmt: skip


@pytest.mark.parametrize(
    "drug",
    [
        "meloxicam", "carprofen", "robenacoxib", "ketoprofen", "firocoxib", "deracoxib", "cimicoxib", "mavacoxib",
        "tolfenamic acid", "flunixin", "grapiprant", "aspirin", "ibuprofen", "naproxen", "diclofenac",
    ],
)  # fmt: skip
def test_the_list_of_anti_inflammatories(drug):
    assert formulary().is_nsaid(drug)
    assert len(formulary().nsaids) == 15


# "Not sure" asks again. Clinical defaults, 6.7.
FINE: dict[str, Any] = {"appetite": "normal", "faeces": "normal", "demeanour": "bright"}


def dog():
    return replace(PIG, patient=Patient(Species.DOG, 12000, sex=Sex.FEMALE), procedure=Procedure.SPAY)


def asks_of(case, observations, now: str) -> tuple[str | None, tuple[str, ...]]:
    found = verdict(case, observations, now).ask
    return (clock(found.at), found.questions) if found is not None else (None, ())


@pytest.mark.parametrize(
    ("unsure", "rest", "at_", "keys"),
    [
        ("appetite", {"faeces": "normal"}, "11 10:00", ("appetite",)),
        ("faeces", {"appetite": "normal"}, "11 10:00", ("faeces",)),
        ("demeanour", FINE, "11 09:00", ("demeanour",)),
        ("breathing", FINE, "11 09:00", ("breathing",)),
        ("drinking", FINE, None, ()),
        ("stitches", FINE, None, ()),
        ("gums", FINE, None, ()),
        ("weight", FINE, None, ()),
        ("wound", FINE, None, ()),
    ],
)
def test_not_sure_is_asked_again(unsure, rest, at_, keys):
    """At 08:00 of day 1: eating and droppings in two hours, behaviour and breathing in one."""
    told = seen("11 08:00", unsure=[unsure], **{key: value for key, value in rest.items() if key != unsure})

    assert asks([told], "11 08:00") == (at_, keys)


@pytest.mark.parametrize("case", [PIG, rabbit(home_medication=())], ids=["guinea pig", "rabbit"])
def test_not_sure_about_eating_is_asked_again_in_two_hours_and_before_bed(case):
    told = seen("11 18:40", unsure=["appetite"], faeces="normal")

    assert asks_of(case, [told], "11 18:40") == ("11 20:40", ("appetite",))
    again = seen("11 20:40", unsure=["appetite"], faeces="normal")
    assert asks_of(case, [told, again], "11 20:41")[0] == "11 20:45"  # before bed


def test_not_sure_about_eating_asks_others_and_later_only_with_the_running_clock():
    """A dog at any hour, a guinea pig from 72 h on: bedtime and waking."""
    told = seen("11 19:00", unsure=["appetite"], faeces="normal", demeanour="bright")
    assert asks_of(dog(), [told], "11 19:00") == ("11 20:45", ("appetite", "last_ate_at"))
    later = seen("13 18:31", unsure=["appetite"], faeces="normal", demeanour="bright")
    assert asks([later], "13 18:31")[0] == "13 20:45"


@pytest.mark.parametrize(("told", "again"), [("10 18:40", "10 19:40"), ("11 07:31", None)])
def test_cool_ears_are_felt_again_in_an_hour_in_the_first_12_hours(told, again):
    """Surgery ended at 10:30: 18:40 is 8 h later, 07:31 is 21 h later, when they are judged as they are."""
    assert asks([seen(told, warmth="cool_ears_feet", **FINE)], told)[0] == again


def test_a_question_for_the_sleeping_hours_waits_for_waking():
    told = seen("10 21:30", unsure=["breathing"], **FINE)

    assert asks([told], "10 21:30") == ("11 07:00", ("breathing",))


@pytest.mark.parametrize(
    ("sign", "none", "keys"),
    [
        ("food", {"appetite": "none", "faeces": "normal"}, {"appetite", "last_ate_at"}),
        ("meal", {"appetite": "a_few_bites", "faeces": "normal"}, {"appetite", "last_ate_at"}),
        ("droppings", {"appetite": "normal", "faeces": "none"}, {"faeces", "last_faeces_at"}),
        ("urine", {**FINE, "urine": "none"}, {"urine", "last_urine_at"}),
    ],
)
def test_every_clock_that_runs_is_asked_about_as_one_question(sign, none, keys):
    at_, asked = asks([seen("13 18:31", **none)], "13 18:31")

    assert (at_, set(asked)) == ("13 20:45", keys), sign
