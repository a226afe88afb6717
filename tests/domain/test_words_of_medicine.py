"""Mishaps with medicine, told in words; and painkillers for people, named, asked about or given."""

from __future__ import annotations

from dataclasses import replace

import pytest

from followup.domain.recovery import Release
from followup.domain.terms import Concern, Level, Species
from followup.domain.triage import triage
from tests.domain.owners_words import said, sentences
from tests.domain.triage_cases import recovery, seen, when
from tests.recoveries import guinea_pig, meloxicam


def cat(**changes):
    return guinea_pig(patient=replace(guinea_pig().patient, species=Species.CAT, weight_g=4000), **changes)


def kind(words: str) -> str:
    found = said(words)
    if found.grave_mishaps or any(each.given for each in found.painkillers):
        return "emergency"
    if found.mishaps:
        return "urgent"
    return "asked" if found.painkillers else "quiet"


@pytest.mark.parametrize(
    ("expected", "words"),
    [(key, words) for key in ("urgent", "emergency", "asked", "quiet") for words in sentences("of_medicine", key)],
)
def test_what_words_tell_of_a_medicine(expected, words):
    assert kind(words) == expected


@pytest.mark.parametrize(
    ("words", "given"),
    [
        ("I gave him ibuprofen, can I give more?", True),
        ("can I give him more, I gave him ibuprofen at noon", True),
        ("He hasn't been given aspirin but I gave paracetamol", True),
        ("Was he given ibuprofen?", False),
        ("Is ibuprofen ok? I gave him nothing", False),
    ],
)
def test_what_was_given_is_told_from_what_is_asked(words, given):
    assert any(each.given for each in said(words).painkillers) is given


def verdict_on(case, text: str, *, releases=()):
    words = replace(seen("10 20:45", appetite="normal"), text=text)
    return triage(replace(recovery(case, [words]), releases=releases), when("10 20:50"))


@pytest.mark.parametrize(
    ("case", "text", "rule", "level"),
    [
        (guinea_pig, "gave a double dose", "words_tell_of_a_mishap", Level.URGENT),
        (cat, "gave a double dose", "words_tell_of_a_mishap", Level.EMERGENCY),  # an NSAID in a cat
        (guinea_pig, "he choked on the syringe", "words_tell_of_a_grave_mishap", Level.EMERGENCY),
        (guinea_pig, "I gave him ibuprofen", "words_name_a_human_painkiller", Level.EMERGENCY),
        (guinea_pig, "can I give him ibuprofen?", "words_name_a_human_painkiller", Level.URGENT),
    ],
)
def test_the_level_of_a_mishap_in_words(case, text, rule, level):
    found = verdict_on(case(home_medication=(meloxicam(),)), text).findings

    (finding,) = (each for each in found if each.rule == rule)
    assert (finding.level, finding.concern) == (level, Concern.MEDICINE)


def test_a_painkiller_of_the_plan_is_no_mishap():
    aspirin = replace(meloxicam(), drug="aspirin")

    assert verdict_on(guinea_pig(home_medication=(aspirin,)), "gave the aspirin at 8").level is Level.ON_TRACK


def test_a_mishap_in_words_holds_the_painkillers_until_a_vet_releases_them():
    case = guinea_pig(home_medication=(meloxicam(),))

    assert verdict_on(case, "gave a double dose").held_drugs == ("meloxicam",)
    assert verdict_on(case, "can I give him ibuprofen?").held_drugs == ()
    assert verdict_on(case, "gave a double dose", releases=(Release("meloxicam", when("10 20:46")),)).held_drugs == ()


def test_another_medicine_is_held_when_the_words_name_it():
    case = guinea_pig(home_medication=(meloxicam(),))
    (medicine,) = recovery(case).medication
    other = replace(medicine, drug="gabapentin", is_nsaid=False)

    def held(text: str) -> tuple[str, ...]:
        words = replace(seen("10 20:45", appetite="normal"), text=text)
        return triage(replace(recovery(case, [words]), medication=(other,)), when("10 20:50")).held_drugs

    assert held("gave a double dose") == ()
    assert held("Gave a double dose of Gabapentin") == ("gabapentin",)
