"""Silence, the night, medicine and words explained: what they rest on, and what would have made them lower."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, cast

import pytest

from followup.casefile import read_before, verdict_json
from followup.domain.answers import Question
from followup.domain.case import VetSaid
from followup.domain.explaining import before, changes_since, explain
from followup.domain.observation import Observation, OtherMedicine
from followup.domain.recovery import Release
from followup.domain.terms import Level
from followup.domain.triage import triage
from followup.domain.why_silent import Why, WhySilent
from tests.domain.explained import GOOD, PIG, dose, grounds, lower, of
from tests.domain.triage_cases import recovery, seen, when


def test_silence_names_the_check_in_and_until_when():
    found = of("silence", [seen("10 20:45", **GOOD)], "11 11:00")

    assert grounds(found)[-1][0] == "Check-in"
    assert lower(found)[0][1] == "on_track"
    assert "an answer about eating by Tue 11 Mar 10:00" in lower(found)[0][0]


def test_what_is_decided_before_sleep():
    hungry = [seen("10 20:45", appetite="none", ate="10 17:00", faeces="normal", demeanour="dull")]

    found = of("decided_before_sleep", hungry, "10 21:00")
    assert [each[1] for each in grounds(found)][-1] == "Dull: takes little notice, hardly moves"
    # waking 07:00 + 1 h - 12 h = 20:00 of the evening before
    assert ("food after Mon 10 Mar 20:00", "on_track") in lower(found)
    assert ("“Bright and interested, as usual” to “How is the behaviour of Pip?”", "urgent") in lower(found)
    asleep = of("decided_before_sleep", [replace(hungry[0], answers={**hungry[0].answers, **BRIGHT})], "10 22:30")
    assert ("a night plan in a vet's writing, or a vet's word before sleep", "urgent") in lower(asleep)


BRIGHT = {Question.DEMEANOUR: "bright"}


def test_a_held_dose():
    found = of("held_meloxicam", [seen("11 08:00", appetite="none", ate="11 07:00", drinking="more")], "11 09:00")

    assert [each[1] for each in grounds(found)] == ["Nothing", "More than usual", "not told of"]
    told = lower(found)
    assert ("a vet has released the dose", "on_track") in told
    both = [words for words, _ in told if "Yes, as much as usual" in words]
    assert len(both) == 1
    assert "As usual” to “How much does Pip drink?”" in both[0]


def test_a_held_dose_rests_on_no_sign_that_a_vet_has_weighed_or_that_came_too_early():
    looks = [
        seen("11 07:00", faeces="diarrhoea", appetite="normal"),
        seen("11 08:00", drinking="more", appetite="normal", demeanour="dull"),
    ]
    whole = replace(recovery(PIG, looks), releases=(Release("meloxicam", when("11 07:30")),))
    verdict = triage(whole, when("11 09:00"))
    found = explain(whole, verdict, None).findings[[each.rule for each in verdict.findings].index("held_meloxicam")]

    # 21.5 h after surgery: dull counts from 24 h on
    assert [each[1] for each in grounds(found)] == ["More than usual", "not told of"]


def test_doses_missed():
    found = of("missed_meloxicam", [dose("11 10:00", "missed"), dose("12 10:00", "refused")], "12 11:00")

    assert [each[1] for each in grounds(found)] == ["missed", "refused"]
    assert lower(found) == [("the newest of them given", "on_track")]


def test_too_much_at_once():
    """0.18 ml are planned, so half as much again begins at 0.27 ml."""
    found = of("mishap_meloxicam", [dose("11 10:00", ml=0.4)], "11 11:00")

    assert grounds(found) == [("Dose of meloxicam", "given, 0.4 ml", "11 10:00", "owner")]
    assert lower(found) == [("less than 0.27 ml", "monitor"), ("0.18 ml, as planned", "on_track")]


def test_two_that_went_wrong_are_told_apart():
    whole = recovery(PIG, [dose("11 10:00", ml=0.4), dose("12 10:00", ml=0.25)])
    verdict = triage(whole, when("12 11:00"))
    both = [
        lower(why)
        for each, why in zip(verdict.findings, explain(whole, verdict, None).findings, strict=True)
        if each.rule == "mishap_meloxicam"
    ]

    assert both == [
        [("less than 0.27 ml", "monitor"), ("0.18 ml, as planned", "on_track")],
        [("0.18 ml, as planned", "on_track")],
    ]


def test_too_soon():
    found = of("too_soon_meloxicam", [dose("11 10:00"), dose("11 18:00")], "11 18:30")

    assert lower(found) == [("22 h or more between the two doses", "on_track")]


@pytest.mark.parametrize(
    ("rule", "told"),
    [
        ("mishap_meloxicam", dose("11 10:00", route_wrong=True)),
        ("human_painkiller", Observation(at=when("11 10:00"), other_medicine=OtherMedicine("paracetamol"))),
        ("another_medicine", Observation(at=when("11 10:00"), other_medicine=OtherMedicine("her sister's drops"))),
    ],
)
def test_nothing_lowers_a_wrong_drug_or_a_wrong_place(rule, told):
    found = of(rule, [told], "11 11:00")

    assert found.lower == ()
    assert found.nothing_lowers.startswith("Nothing that is answered makes it milder")
    assert found.grounds


def test_words_wait_for_a_person():
    words = Observation(at=when("11 12:00"), text="He won't stop bleeding")
    found = of("words_name_a_danger", [words], "11 12:00")

    assert grounds(found) == [("In the owner's own words", "“He won't stop bleeding”", "11 12:00", "owner")]
    assert lower(found) == [("a person at the practice has read them", "on_track")]


def test_a_vets_word_leaves_the_explanation_true():
    spoken = replace(PIG, vet_said=(VetSaid(when("10 21:30"), when("11 09:00")),))
    found = of("hours_without_food", [seen("10 18:30", appetite="none", ate="10 13:00")], "11 06:00", spoken)

    assert lower(found) == [("food after Tue 11 Mar 00:00", "on_track")]


@pytest.mark.parametrize(
    ("said", "rule"),
    [
        ("I gave him too much by mistake", "words_tell_of_a_mishap"),
        ("We gave her ibuprofen", "words_name_a_human_painkiller"),
        ("Pip died this morning", "words_say_died"),
    ],
)
def test_words_about_medicine_or_death_wait_for_a_person_too(said, rule):
    found = of(rule, [Observation(at=when("11 12:00"), text=said)], "11 12:00")

    assert grounds(found) == [("In the owner's own words", f"“{said}”", "11 12:00", "owner")]
    assert lower(found) == [("a person at the practice has read them", "on_track")]
    assert found.rule.startswith(("Words that nobody has read", "The owner's own words say"))


def test_he_was_not_well_said_of_a_silence():
    told = WhySilent(Why.UNWELL, when("11 12:00"), "slept all day")
    whole = replace(recovery(PIG, [seen("11 11:00", **GOOD)]), why_silent=(told,))
    verdict = triage(whole, when("11 12:30"))
    found = explain(whole, verdict, None).findings[
        [each.rule for each in verdict.findings].index("silent_because_unwell")
    ]

    assert grounds(found) == [("Why nothing was heard", told.told(), "11 12:00", "owner")]
    assert [level for _, level in lower(found)] == ["on_track", "on_track"]


@pytest.mark.parametrize(
    ("now", "rule"), [("11 14:00", "silence_a_vet_decides"), ("11 18:00", "silence_never_heard_from")]
)
def test_the_first_mornings_silence_is_explained_at_each_step(now, rule):
    found = of(rule, [seen("10 20:45", **GOOD)], now)

    assert "by Tue 11 Mar 10:00" in lower(found)[0][0]
    assert found.rule.startswith("A check-in that nobody has answered")


def test_of_a_rule_that_holds_twice_the_worse_is_compared():
    verdict = triage(recovery(PIG, [dose("11 10:00", ml=0.25), dose("12 10:00", ml=0.4)]), when("12 11:00"))
    then = before(verdict.at, verdict.findings)

    assert then.findings["mishap_meloxicam"][0] is Level.URGENT
    assert read_before(verdict.at, verdict_json(verdict)) == then
    assert changes_since(then, verdict).findings == ()
    turned = {**verdict_json(verdict), "flags": [*reversed(cast("list[Any]", verdict_json(verdict)["flags"]))]}
    assert read_before(verdict.at, turned) == then
