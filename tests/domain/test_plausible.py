"""Weights that are asked about again, at each limit itself. Source: clinical defaults, 14 (M)."""

from __future__ import annotations

import pytest

from followup.domain.plausible import GRAMS, weight_question
from followup.domain.terms import Species
from followup.protocols.load import available

PIG = Species.GUINEA_PIG


@pytest.mark.parametrize(
    ("grams", "last", "asks"),
    [
        (900, 600, False),  # exactly 1.5 times
        (901, 600, True),
        (600, 900, False),
        (599, 900, True),
        (900, None, False),
    ],
)
def test_more_than_one_and_a_half_times_off_the_last_is_asked_about(grams, last, asks):
    assert bool(weight_question(PIG, grams, last=last).text) is asks


@pytest.mark.parametrize("species", list(Species))
def test_both_ends_of_the_range_are_plausible_and_a_gram_beyond_is_not(species):
    least, most = GRAMS[species]
    asked = [bool(weight_question(species, grams).text) for grams in (least - 1, least, most, most + 1)]
    assert asked == [True, False, False, True]


def test_the_page_and_the_protocols_know_the_same_ranges():
    found = {each.species: tuple(map(int, each.course.fit_to_go.weight_g)) for each in available()}
    assert found == GRAMS


@pytest.mark.parametrize(("grams", "may_be_right"), [(0.9, False), (1.98, True), (1700, True)])
def test_kilograms_are_no_grams_and_nothing_is_converted(grams, may_be_right):
    asked = weight_question(PIG, grams)
    assert asked.text.startswith(f"{grams:g} g?")
    assert asked.may_be_right is may_be_right
