"""An oral syringe, drawn and filled to the mark: the same geometry for the page and for the PDF.

Marks stand where that size of syringe has them (common practice, no source; see followup/domain/dosing.py).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal

from followup.domain.compiled import Medicine
from followup.domain.dose_words import amount_in_words, number_in_words
from followup.domain.dosing import mark_of

BARREL = 200.0
"""Length of the barrel in units of the drawing; the nozzle is at 0."""

NUMBERED: dict[Decimal, Decimal] = {
    Decimal(1): Decimal("0.1"),
    Decimal(2): Decimal("0.5"),
    Decimal("2.5"): Decimal("0.5"),
    Decimal(3): Decimal("0.5"),
    Decimal(5): Decimal(1),
    Decimal(10): Decimal(2),
    Decimal(20): Decimal(5),
}
"""Size → distance of the marks that carry a number, both ml."""


@dataclass(frozen=True)
class Mark:
    """One mark of the barrel. `label` empty: it carries no number; `half` is half-way between two that do."""

    x: float
    label: str
    half: bool


@dataclass(frozen=True)
class Syringe:
    """`fill` is where the plunger's edge stands; `full` how many times it is filled before that."""

    size: str
    amount: str
    fill: float
    full: int
    marks: tuple[Mark, ...]


def syringe(size_ml: Decimal, ml: Decimal) -> Syringe:
    """A syringe of that size with that volume in it. Raises NoSuchSyringe."""
    step, numbered = mark_of(size_ml), NUMBERED[size_ml]
    full = max(math.ceil(ml / size_ml) - 1, 0)
    return Syringe(
        size=f"{number_in_words(size_ml)} ml",
        amount=f"{number_in_words(ml)} ml",
        fill=_x(ml - full * size_ml, size_ml),
        full=full,
        marks=tuple(_mark(step * index, size_ml, numbered) for index in range(int(size_ml / step) + 1)),
    )


def syringes_of(medicine: Medicine) -> tuple[Syringe, ...]:
    """One for each volume of a liquid, in the order of its doses; none for anything else."""
    size = medicine.syringe_ml
    if size is None:
        return ()
    volumes = {amount_in_words(dose): dose.ml for dose in medicine.doses if dose.ml is not None}
    return tuple(syringe(size, ml) for ml in volumes.values())


def _mark(ml: Decimal, size_ml: Decimal, numbered: Decimal) -> Mark:
    has_number = ml % numbered == 0
    return Mark(
        x=_x(ml, size_ml),
        label=number_in_words(ml) if has_number and ml else "",
        half=not has_number and ml % (numbered / 2) == 0,
    )


def _x(ml: Decimal, size_ml: Decimal) -> float:
    return round(float(ml / size_ml) * BARREL, 2)
