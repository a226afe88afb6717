"""The lines and words of the picture of the weight, and that the table says the same."""

from __future__ import annotations

from decimal import Decimal

import pytest

from clinic.models import Weight
from followup.domain.case import Patient
from followup.domain.compiled import CompiledPlan
from followup.domain.observation import Observation
from followup.domain.terms import Species
from followup.drawing.weight import Weighing
from followup.services.weight_picture import FEW, WeightPicture, weighings, weight_picture
from tests.recoveries import at, guinea_pig, plan_of

CASE = guinea_pig()
"""900 g at discharge: 855 monitor, 810 urgent, 765 emergency."""


def plan() -> CompiledPlan:
    return plan_of(CASE)


def weighed(text: str, grams: float, *, at_home: bool = True) -> Weighing:
    return Weighing(at(f"2025-03-{text}"), Decimal(str(grams)), at_home)


def drawn(*points: Weighing) -> WeightPicture:
    return weight_picture(CASE, plan(), points)


def test_each_line_has_its_name_and_grams():
    assert [words for _, words in drawn().levels] == [
        "discharge 900 g",
        "monitor 855 g",
        "urgent 810 g",
        "emergency 765 g",
    ]


def test_a_cat_has_no_line_of_emergency():
    cat = guinea_pig(4000, patient=Patient(Species.CAT, 4000, "Tom"), home_medication=())
    levels = weight_picture(cat, plan_of(cat), []).levels
    assert [words for _, words in levels] == ["discharge 4000 g", "monitor 3800 g", "urgent 3600 g"]


def test_the_first_weight_at_home_stands_beside_since_scales_differ():
    shown = drawn(weighed("10 16:30", 900, at_home=False), weighed("11 08:00", 880), weighed("12 08:00", 836))
    assert [words for _, words in shown.levels][:2] == ["discharge 900 g", "1st home 880 g"]
    assert shown.first_home == "880"
    assert [(row.change, row.since_home) for row in shown.rows] == [("0 %", ""), ("−2.2 %", ""), ("−7.1 %", "−5.0 %")]
    assert "First at home: 880 g." in shown.description


def test_never_weighed_at_home_has_no_such_line():
    shown = drawn(weighed("10 16:30", 900, at_home=False))
    assert (shown.first_home, len(shown.levels)) == ("", 4)


def test_a_long_table_is_folded():
    many = [weighed(f"{day} 08:00", 900) for day in range(11, 12 + FEW)]
    assert (drawn(*many[:FEW]).few, drawn(*many).few) == (True, False)


@pytest.mark.parametrize(
    ("grams", "change", "level"),
    [(900, "0 %", ""), (856, "−4.9 %", ""), (855, "−5.0 %", "monitor"), (810, "−10.0 %", "urgent"),
     (765, "−15.0 %", "emergency"), (918, "+2.0 %", "")],
)  # fmt: skip
def test_the_table_says_what_is_reached_at_the_value_itself(grams, change, level):
    (row,) = drawn(weighed("12 08:00", grams)).rows
    assert (row.day, row.grams, row.change, row.level, row.where) == (2, str(grams), change, level, "home")


def test_weighings_before_the_operation_are_another_story():
    old, new = Weight(grams=700, at=at("2025-01-10 09:00")), Weight(grams=900, at=at("2025-03-10 16:30"))
    home = Observation(at=at("2025-03-11 08:00"), weight_g=880.5)
    found = weighings(CASE, [new, old], [home, Observation(at=at("2025-03-11 09:00"))])
    assert [(each.grams, each.at_home) for each in found] == [(900, False), (Decimal("880.5"), True)]


def test_words_for_who_does_not_see_it():
    assert drawn().description.startswith("Not weighed since the operation.")
    said = drawn(weighed("12 08:00", 800)).description
    assert "Newest: 800 g on day 2, home, −11.1 % against the discharge, urgent." in said
