"""Amounts as an owner reads them: no trailing zero, always a leading one, no exponent."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

import pytest

from followup.domain.compiled import PlannedDose
from followup.domain.dose_words import amount_in_words, number_in_words

MORNING = dt.datetime(2025, 3, 11, 10, tzinfo=dt.UTC)


@pytest.mark.parametrize(
    ("value", "words"),
    [("0.18", "0.18"), ("0.20", "0.2"), ("1.0", "1"), ("10", "10"), ("1E+1", "10"), ("0.005", "0.005"), ("100", "100")],
)
def test_numbers(value, words):
    assert number_in_words(Decimal(value)) == words


@pytest.mark.parametrize(
    ("tablets", "words"),
    [
        ("0.25", "¼ tablet"),
        ("0.5", "½ tablet"),
        ("1", "1 tablet"),
        ("1.5", "1½ tablets"),
        ("2", "2 tablets"),
        ("2.75", "2¾ tablets"),
        ("10", "10 tablets"),
    ],
)
def test_tablets(tablets, words):
    assert amount_in_words(PlannedDose(1, MORNING, MORNING, MORNING, tablets=Decimal(tablets))) == words


def test_liquids_and_fixed_amounts():
    assert amount_in_words(PlannedDose(1, MORNING, MORNING, MORNING, ml=Decimal("0.20"))) == "0.2 ml"
    assert amount_in_words(PlannedDose(1, MORNING, MORNING, MORNING, fixed="1 drop")) == "1 drop"
