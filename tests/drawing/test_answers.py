"""A drawing stands beside an answer only where it fits the patient, and always with words."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from django.conf import settings

from followup.domain.case import Case
from followup.domain.questions import QUESTIONS
from followup.domain.terms import Closure, Species
from followup.drawing.answers import drawing_of
from tests.recoveries import guinea_pig

DRAWINGS = Path(settings.BASE_DIR) / "followup/templates/followup/drawings"


def of(species: Species, closure: Closure | None = None) -> Case:
    found = guinea_pig()
    return replace(
        found, patient=replace(found.patient, species=species), discharge=replace(found.discharge, closure=closure)
    )


def drawn(patient: Case) -> dict[tuple[str, str], str]:
    """Every drawing that this patient's owner may see, by question and answer."""
    shown = {
        (key, answer): drawing_of(key, answer, patient)
        for key, asked in QUESTIONS.items()
        for answer, _words in asked.answers_for(patient.patient.species)
    }
    return {answer: name for answer, name in shown.items() if name}


def test_each_drawing_is_there_and_none_is_left_over():
    used = {name for species in Species for name in drawn(of(species)).values()}

    assert used == {path.stem for path in DRAWINGS.iterdir()}


@pytest.mark.parametrize("path", sorted(DRAWINGS.iterdir()), ids=lambda path: path.stem)
def test_a_drawing_is_small_takes_the_colours_of_the_page_and_is_silent_to_who_hears_the_words(path):
    text = path.read_text()

    assert len(text) < 1600
    assert 'aria-hidden="true"' in text
    assert not re.search(r"#[0-9a-f]{3}|style=|fill=|stroke=|href|<script", text)


def test_droppings_have_the_shape_of_the_species():
    assert drawing_of("faeces", "normal", of(Species.RABBIT)) == "droppings_rabbit_normal"
    assert drawing_of("faeces", "normal", of(Species.GUINEA_PIG)) == "droppings_guinea_pig_normal"
    assert drawing_of("faeces", "normal", of(Species.CAT)) == ""


def test_only_a_rabbit_leaves_clumps():
    clumps = ("faeces", "night_droppings_left")

    assert [species for species in Species if clumps in drawn(of(species))] == [Species.RABBIT]


def test_no_stitches_are_drawn_of_a_wound_that_was_left_open():
    wounds = [key for key, _answer in drawn(of(Species.GUINEA_PIG, Closure.LEFT_OPEN)) if key.startswith("wound.")]

    assert wounds == []
    assert ("wound.edges", "closed") in drawn(of(Species.GUINEA_PIG))
