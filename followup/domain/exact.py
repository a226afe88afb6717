"""Numbers as they were written. A dose is never decided in binary floating point."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

GRAMS_PER_KG = 1000
SIX_PLACES = Decimal("0.000001")
EVERY_PLACE = Decimal("1e-24")
"""More than a number of JSON of at least a millionth can have."""


def exact(value: float | Decimal) -> Fraction:
    """The decimal number that was written: 0.1 is one tenth."""
    return Fraction(str(value))


def decimal(value: Fraction, places: Decimal = SIX_PLACES) -> Decimal:
    """`value` to `places` (a power of ten), half to even, without trailing zeros; however large it is."""
    steps = round(value / Fraction(places))
    text = f"{Decimal(f'{steps}E{places.as_tuple().exponent}'):f}"
    return Decimal(text.rstrip("0").rstrip(".") if "." in text else text)


def as_written(value: float | Decimal) -> Decimal:
    """The number that was written, without trailing zeros."""
    return decimal(exact(value), EVERY_PLACE)


def plain(value: Fraction | Decimal) -> str:
    """A number for the reader: as many places as it needs, at most four."""
    return f"{decimal(Fraction(value), Decimal('0.0001')):f}"
