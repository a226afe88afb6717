"""The amounts of each day against the limits of the table. Source: clinical defaults, 8."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from fractions import Fraction

from followup.domain.compiled import Problem
from followup.domain.exact import exact, plain
from followup.domain.formulary import DoseRow, Limit
from followup.domain.script import REFUSED, WARNING, WRONG_UNIT, Script

FAR_OFF = 10
"""A dose this many times the usual amount is most likely a wrong unit (M)."""


def day_problems(script: Script, days: Sequence[Fraction], *, first_is_loading: bool) -> Iterator[Problem]:
    """What the amounts of each day say, in mg per kg: one problem per limit, for the worst day."""
    row = script.row
    if row is None:
        return
    for limit in row.limits:
        if limit.every_hours is not None and limit.every_hours != script.every_hours:
            continue
        passed = [
            (amount, bound)
            for index, amount in enumerate(days)
            if _passes(limit, amount, bound := _bound(limit, first_day=first_is_loading and index == 0))
        ]
        if passed:
            which = "below" if limit.below else "above"
            amount, bound = max(passed) if not limit.below else min(passed)
            yield script.problem(
                limit.kind,
                "mg_per_kg",
                f"{script.asked.drug} {plain(amount)} mg/kg a day is {which} {plain(bound)}: {limit.because}",
                limit.source.text,
            )


def limits_kept(script: Script, *, first_day: bool) -> tuple[Fraction, ...]:
    """The needs_vet and refused limits of one day, mg per kg: rounding must not pass them."""
    row = script.row
    limits = row.limits if row is not None else ()
    return tuple(
        _bound(limit, first_day=first_day) for limit in limits if limit.kind is not WARNING and not limit.below
    )


def hard_limit(script: Script) -> Decimal | None:
    """The mg per kg and day above which a dose is refused; None where the table has none."""
    return hard_limit_of(script.row) if script.row is not None else None


def hard_limit_of(row: DoseRow) -> Decimal | None:
    """The mg per kg and day above which the row refuses; None where it has no such limit."""
    return min((each.mg_per_kg_a_day for each in row.limits if each.kind is REFUSED and not each.below), default=None)


def _bound(limit: Limit, *, first_day: bool) -> Fraction:
    return exact(limit.first_day if first_day and limit.first_day is not None else limit.mg_per_kg_a_day)


def _passes(limit: Limit, amount: Fraction, bound: Fraction) -> bool:
    return amount < bound if limit.below else amount > bound


def far_off(script: Script, most: Fraction) -> Iterator[Problem]:
    """What the largest single dose says, mg per kg: so far off the usual one that it is most likely another unit."""
    row = script.row
    usual = row.mg_per_kg if row is not None else None
    if usual is not None and most > FAR_OFF * exact(usual):
        yield script.problem(
            WARNING,
            "mg_per_kg",
            f"More than {FAR_OFF} times the usual {usual:f} mg/kg; {WRONG_UNIT}.",
        )
