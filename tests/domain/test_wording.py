"""What every text that ships holds."""

from __future__ import annotations

import pytest

from followup.domain.own_words import IN_BRACES, names_in
from followup.domain.sms import plain
from followup.domain.wording import ADVICE, BY_KEY, LINK, TO_OWNERS, Text

each_text = pytest.mark.parametrize("text", TO_OWNERS, ids=lambda text: text.key)
DOSES_OR_ADVICE = ["dose", "check_in_and_dose", "check_in_and_dose_of_several", "held_dose", "revised"]
"""Advice carries its own caution, by level: `{disclaimer}`."""


def email(text: Text) -> str:
    return f"{text.body}\n\n{text.caution}"


def sms(text: Text) -> str:
    return f"{text.short} {text.short_caution}"


def test_each_has_a_key_and_a_name_of_its_own():
    assert len(BY_KEY) == len(TO_OWNERS) == len({text.name for text in TO_OWNERS})
    assert all(text.key and text.name for text in TO_OWNERS)


@each_text
def test_each_names_the_animal_the_number_and_the_link_by_either_way(text):
    for words in (email(text), sms(text)):
        assert {"patients", "link"} <= set(names_in(words))
        assert "phone" in names_in(words)
        assert words.count(LINK) == 1


@pytest.mark.parametrize("key", DOSES_OR_ADVICE)
def test_where_a_dose_stands_it_says_that_this_does_not_replace_a_vet(key):
    assert "does not replace" in BY_KEY[key].caution
    assert "does not replace" in BY_KEY[key].short_caution or "A vet decides" in BY_KEY[key].short_caution


def test_advice_has_its_caution_by_either_way():
    assert ADVICE.caution == "{disclaimer}"
    assert "does not replace your vet" in ADVICE.short_caution


@each_text
def test_each_has_words_for_a_text_message_in_the_signs_of_a_telephone(text):
    assert text.short
    assert text.short_caution
    assert plain(sms(text)) == sms(text)


@each_text
def test_no_brace_stands_for_nothing(text):
    for field in (text.subject, text.body, text.caution, text.short, text.short_caution):
        assert {word[1:-1] for word in IN_BRACES.findall(field)} == set(names_in(field))
