"""Danger words and their simple denial, in English."""

from __future__ import annotations

from dataclasses import replace

import pytest

from followup.domain.terms import Level
from followup.domain.triage import triage
from followup.domain.words import danger_in
from tests.domain.triage_cases import protocol, recovery, seen, when
from tests.recoveries import guinea_pig

RULE = protocol("guinea_pig_castration").rules.words[0]


@pytest.mark.parametrize(
    "words",
    [
        "He isn't eating",
        "She ISN\N{RIGHT SINGLE QUOTATION MARK}T EATING at all!",
        "it won't stop bleeding",
        "There is blood on the towel",
        "No blood yesterday, but bleeding now",
        "he is limp and cold",
        "no poos since last night",
    ],
)
def test_words_that_name_a_danger(words):
    assert danger_in(words, RULE)


@pytest.mark.parametrize(
    "words",
    [
        "no blood at all",
        "There is no sign of blood.",
        "it has stopped bleeding",
        "not bleeding",
        "eating hay, thank you",
        "the towel is bloody lovely",
        "",
    ],
)
def test_words_that_do_not(words):
    assert danger_in(words, RULE) == ""


def test_a_good_form_after_unread_danger_words_does_not_hide_them():
    words = replace(seen("10 18:40"), text="he is bleeding")
    good = seen("10 20:45", appetite="normal", faeces="normal", demeanour="bright", wound_bleeding="none")

    assert triage(recovery(guinea_pig(), [words, good]), when("10 20:50")).level is Level.URGENT
    assert triage(recovery(guinea_pig(), [good]), when("10 20:50")).level is Level.ON_TRACK
