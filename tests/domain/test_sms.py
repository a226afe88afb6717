"""What a text message is written in."""

# ruff: noqa: RUF001 - signs that look alike are what is tried
from __future__ import annotations

import pytest

from followup.domain.sms import Alphabet, Length, beyond_gsm, length_of, plain


def test_no_text_has_no_part():
    assert length_of("") == Length(Alphabet.GSM7, 0, 0)


@pytest.mark.parametrize(
    ("typed", "sent"),
    [
        ("Don’t wait – phone…", "Don't wait - phone..."),
        ("“warm”", '"warm"'),
        ("un garçon", "un garcon"),
        ("a\u00a0b\tc", "a b c"),
        ("½ tablet", "1/2 tablet"),
        ("1½ tablets", "1 1/2 tablets"),  # never eleven halves
        ("é and Ç stay", "é and Ç stay"),
        ("ê and Ж have no other", "ê and Ж have no other"),
    ],
)
def test_signs_are_exchanged_where_the_meaning_stays(typed, sent):
    assert plain(typed) == sent


def test_a_name_is_never_written_otherwise():
    assert plain("“François” – it’s François’ dose", keep=["François"]) == "\"François\" - it's François' dose"
    assert plain("O’Hara’s owner", keep=["O’Hara", ""]) == "O’Hara's owner"


def test_of_two_names_the_longer_is_kept_whole():
    assert plain("Çaç – Ça", keep=["Ça", "Çaç"]) == "Çaç - Ça"


def test_a_name_that_the_alphabet_lacks_makes_the_whole_text_longer():
    text = "How is Zoë? " + "A" * 60
    assert beyond_gsm(text) == ("ë",)
    assert length_of(text) == Length(Alphabet.UCS2, 72, 2)
    assert length_of(text.replace("ë", "e")).parts == 1
