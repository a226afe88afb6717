"""A weight that cannot be is asked about with what may have been meant, and never converted."""

from __future__ import annotations

import pytest

from followup.domain.weighing import FAR_OFF, MEANT, NOT_A_NUMBER, NOT_PLAUSIBLE, doubt_about

GUINEA_PIG = (300.0, 1800.0)
"""Grams; what the protocol for castration expects."""


@pytest.mark.parametrize(
    ("typed", "sentences", "meant", "may_stand"),
    [
        ("0.95", (NOT_PLAUSIBLE, MEANT), "950", False),
        ("9500", (NOT_PLAUSIBLE, MEANT), "950", False),
        ("95", (NOT_PLAUSIBLE, MEANT), "950", False),
        ("0.4", (NOT_PLAUSIBLE, MEANT), "400", False),
        ("50000", (NOT_PLAUSIBLE,), None, False),
        ("500", (FAR_OFF,), None, True),
        ("nine", (NOT_A_NUMBER,), None, False),
    ],
)
def test_what_is_odd_is_asked_with_a_guess(typed, sentences, meant, may_stand):
    doubt = doubt_about(typed, last_g=900, plausible=GUINEA_PIG)

    assert doubt is not None
    assert (doubt.sentences, doubt.words.get("meant"), doubt.may_stand) == (sentences, meant, may_stand)


@pytest.mark.parametrize("typed", ["900", "600", "1350", "905,5"])
def test_what_may_be_is_taken(typed):
    assert doubt_about(typed, last_g=900, plausible=GUINEA_PIG) is None


def test_a_cat_of_four_kilograms_typed_with_a_digit_too_few():
    doubt = doubt_about("400", last_g=4000, plausible=(300, 12_000))

    assert doubt is not None
    assert (doubt.words["meant"], doubt.may_stand) == ("4000", True)
