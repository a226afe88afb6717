"""The reading grade, against figures that others have published.

Source of the formula: Kincaid, Fishburne, Rogers, Chissom 1975, Research Branch Report 8-75. Of the examples: the
article "Flesch-Kincaid readability tests" of the free encyclopaedia.
"""

from __future__ import annotations

import pytest

from followup.domain.reading_grade import flesch_kincaid, grade, is_hard, sentences_of, syllables

PLATYPUS = "The Australian platypus is seemingly a hybrid of a mammal and reptilian creature."


def test_the_sentence_about_the_platypus():
    """13 words, 24 syllables, grade 11.3."""
    assert sum(syllables(word) for word in PLATYPUS.rstrip(".").split()) == 24
    assert round(grade(PLATYPUS), 1) == 11.3


def test_a_childrens_book_of_words_of_one_syllable():
    """5.7 words a sentence, 1.02 syllables a word: -1.3."""
    assert round(flesch_kincaid(words=570, sentences=100, syllables=581), 1) == -1.3


def test_the_lowest_grade_there_is():
    """Each sentence one word of one syllable: -3.4."""
    assert round(grade("Go. Look. Phone."), 2) == -3.40


@pytest.mark.parametrize(
    ("word", "expected"),
    # Source: what any dictionary that divides words says.
    [
        ("you", 1), ("phone", 1), ("called", 1), ("smelled", 1), ("stopped", 1), ("bleeds", 1), ("through", 1),
        ("eaten", 2), ("needed", 2), ("people", 2), ("table", 2), ("going", 2), ("quiet", 2), ("doses", 2),
        ("rabbit", 2), ("breathes", 1), ("changes", 2), ("wouldn't", 2), ("worried", 2), ("swollen", 2), ("please", 1),
        ("medicine", 3), ("animal", 3), ("carrier", 3), ("replaces", 3), ("operation", 4), ("everything", 3),
        ("emergency", 4), ("meloxicam", 4), ("check-in", 2), ("anybody", 4), ("safely", 2),
    ],
)  # fmt: skip
def test_syllables(word, expected):
    assert syllables(word) == expected


def test_what_is_looked_at_and_not_read_counts_for_nothing():
    assert sentences_of("Give 0.18 ml at 10:00. Tell us: https://a.example.org/o/x/ Then rest.") == [
        "Give 0.18 ml at 10:00", " Tell us: ", " Then rest",
    ]  # fmt: skip
    assert grade("Phone 01632 960100.") == grade("Phone.")
    assert grade("12 34") == grade("") == 0


def test_of_a_handful_of_words_the_formula_says_nothing():
    assert grade("Hazelnut? Worried? Phone") > 5
    assert not is_hard("Hazelnut? Worried? Phone https://a.example.org/one/two/three/four/five/six/seven")
    assert is_hard(PLATYPUS)
    assert not is_hard("Look at him now. Did he eat? Phone us if he did not. Thank you.")
