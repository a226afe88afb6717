"""Amounts and strengths as an owner reads them. No trailing zero, always a leading one: 0.18 ml, 0.2 ml, ½ tablet."""

from __future__ import annotations

from decimal import Decimal

from followup.domain.compiled import Medicine, PlannedDose

PARTS = {Decimal("0"): "", Decimal("0.25"): "¼", Decimal("0.5"): "½", Decimal("0.75"): "¾"}
ONE = Decimal(1)


def amount_in_words(dose: PlannedDose) -> str:
    """What the owner draws up or breaks off."""
    if dose.ml is not None:
        return f"{number_in_words(dose.ml)} ml"
    if dose.tablets is not None:
        return f"{_parts(dose.tablets)} {'tablet' if dose.tablets <= ONE else 'tablets'}"
    return dose.fixed


def strength_in_words(medicine: Medicine) -> str:
    """What the bottle or the box says; empty for a fixed amount."""
    if medicine.mg_per_ml is not None:
        return f"{number_in_words(medicine.mg_per_ml)} mg/ml"
    if medicine.mg_per_tablet is not None:
        return f"{number_in_words(medicine.mg_per_tablet)} mg tablets"
    return ""


def number_in_words(value: Decimal) -> str:
    """A number without trailing zeros and without an exponent."""
    return f"{value.normalize():f}"


def _parts(tablets: Decimal) -> str:
    whole, part = int(tablets), PARTS.get(tablets % 1)
    if part is None:
        return number_in_words(tablets)
    return f"{whole or ''}{part}" or "0"
