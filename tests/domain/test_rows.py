"""The rows of anti-inflammatories, as the table is written. Source: clinical defaults, 8 (marks: formulary.toml)."""

from __future__ import annotations

from decimal import Decimal

import pytest

from followup.domain.terms import Species
from followup.protocols.load_formulary import formulary

FOUR_MONTHS = 4 * Decimal("4.348")
ROWS = [
    # drug, species, first, then, every, days in all, least age in weeks, least weight in g, off the label
    ("meloxicam", "guinea_pig", "0.2", "0.1", "24 12", 3, 4, None, False),
    ("meloxicam", "rabbit", None, "0.6", "24 12", 4, None, None, True),
    ("meloxicam", "cat", None, "0.05", "24", 5, 6, None, False),  # the injection, and 4 by mouth
    ("meloxicam", "dog", "0.2", "0.1", "24", 4, 6, None, False),
    ("meloxicam", "ferret", None, "0.2", "24", 3, None, None, True),
    ("meloxicam", "rat", None, "1.0", "24", 3, None, None, True),
    ("carprofen", "dog", None, "4", "24 12", 5, None, None, False),
    ("robenacoxib", "dog", None, "2", "24", 3, FOUR_MONTHS, 2500, False),
    ("robenacoxib", "cat", None, "1", "24", 3, FOUR_MONTHS, 2500, False),
]


@pytest.mark.parametrize(("drug", "species", "first", "then", "every", "days", "age", "grams", "off_label"), ROWS)
def test_the_row_is_as_written(drug, species, first, then, every, days, age, grams, off_label):  # noqa: PLR0913, PLR0917
    row = formulary().row(drug, Species(species))
    assert row is not None
    assert row.first_mg_per_kg == (None if first is None else Decimal(first))
    assert row.mg_per_kg == Decimal(then)
    assert row.every_hours == tuple(map(Decimal, every.split()))
    assert row.days_in_all == days
    assert (row.least_age_weeks, row.least_weight_g) == (age, grams)
    assert row.off_label is off_label


def test_no_anti_inflammatory_has_a_row_that_is_not_in_the_table():
    found = {(row.drug, row.species.value) for row in formulary().rows if formulary().is_nsaid(row.drug)}
    assert found == {(row[0], row[1]) for row in ROWS}
