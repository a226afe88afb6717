"""Numbers as they were written. A dose is never decided in binary floating point."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

GRAMS_PER_KG = 1000
SIX_PLACES = Decimal("0.000001")


def exact(value: float | Decimal) -> Fraction:
    """The decimal number that was written: 0.1 is one tenth."""
    return Fraction(str(value))


def decimal(value: Fraction, places: Decimal = SIX_PLACES) -> Decimal:
    """`value` to `places`, half to even, without trailing zeros."""
    text = f"{(Decimal(value.numerator) / Decimal(value.denominator)).quantize(places):f}"
    return Decimal(text.rstrip("0").rstrip(".") if "." in text else text)


def plain(value: Fraction | Decimal) -> str:
    """A number for the reader: as many places as it needs, at most four."""
    return f"{decimal(Fraction(value), Decimal('0.0001')):f}"
