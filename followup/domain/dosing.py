"""From mg/kg to what an owner draws up: marks of a syringe, parts of a tablet, what to dispense.

All arithmetic is exact. Source: clinical defaults, 8 (rounding: C).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from followup.domain.terms import FollowUpError

MARKS: dict[Decimal, Decimal] = {
    Decimal(1): Decimal("0.01"),
    Decimal(2): Decimal("0.1"),
    Decimal("2.5"): Decimal("0.1"),
    Decimal(3): Decimal("0.1"),
    Decimal(5): Decimal("0.2"),
    Decimal(10): Decimal("0.5"),
    Decimal(20): Decimal(1),
}
"""Size of an oral syringe → distance of its marks, both ml. Common practice (C)."""

HALF = Fraction(1, 2)
SPILLAGE = Fraction(11, 10)
"""To dispense: the sum plus 10 %. Source: clinical defaults, 8 (C)."""

BOTTLE_STEP = Fraction(1, 10)
"""The volume to dispense is rounded up to 0.1 ml (C)."""

LIQUID_ERROR = Fraction(1, 10)
TABLET_ERROR = Fraction(15, 100)
"""A rounding error above this share is worth a warning (C)."""

FEWEST_MARKS = 2
"""Fewer marks than this cannot be drawn up reliably (C)."""


class NoSuchSyringe(FollowUpError):
    """No oral syringe of that size is known, so nobody can say where its marks are."""


@dataclass(frozen=True)
class Rounded:
    """One amount after rounding to whole marks (ml) or parts (tablets).

    `error` = (delivered - exact) / exact.
    """

    amount: Fraction
    error: Fraction
    exact_steps: Fraction


def mark_of(syringe_ml: Decimal) -> Decimal:
    """The distance of the marks of a syringe.

    Raises NoSuchSyringe for a size that is not sold for this.
    """
    if syringe_ml not in MARKS:
        sizes = ", ".join(f"{size:f}" for size in MARKS)
        raise NoSuchSyringe(f"There is no {syringe_ml:f} ml oral syringe here; sizes are {sizes} ml.")
    return MARKS[syringe_ml]


def smallest_syringe(largest: Fraction) -> Decimal:
    """The smallest syringe that holds the largest dose; the largest one where none does."""
    return next((size for size in MARKS if Fraction(size) >= largest), max(MARKS))


def to_steps(amount: Fraction, step: Fraction, limits: Sequence[Fraction] = ()) -> Rounded:
    """`amount` in whole `step`s: the nearest, a tie down.

    Down again where that would pass a limit that `amount` itself keeps.

    `amount` must be positive; the result may be zero, and must then be refused.
    """
    steps = amount / step
    whole = math.ceil(steps - HALF)
    while any(whole * step > limit >= amount for limit in limits):
        whole -= 1
    delivered = whole * step
    return Rounded(amount=delivered, error=(delivered - amount) / amount, exact_steps=steps)


def total_ml(volumes: Sequence[Fraction]) -> Fraction:
    """What to dispense: the sum and a tenth for spillage, rounded up to 0.1 ml;

    nothing for no doses.
    """
    return math.ceil(sum(volumes, Fraction(0)) * SPILLAGE / BOTTLE_STEP) * BOTTLE_STEP


def total_tablets(tablets: Sequence[Fraction]) -> Fraction:
    """What to dispense: the sum, rounded up to whole tablets."""
    return Fraction(math.ceil(sum(tablets, Fraction(0))))
