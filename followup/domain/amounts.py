"""How much of each dose, in each form of medicine, and what to dispense. Source:

clinical defaults, 8.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from fractions import Fraction

from followup.domain.compiled import Medicine, PlannedDose, Problem
from followup.domain.dose_times import Times
from followup.domain.dosing import (
    FEWEST_MARKS,
    LIQUID_ERROR,
    TABLET_ERROR,
    Rounded,
    mark_of,
    smallest_syringe,
    to_steps,
    total_ml,
    total_tablets,
)
from followup.domain.exact import GRAMS_PER_KG, as_written, decimal, exact, plain
from followup.domain.limits import hard_limit, limits_kept
from followup.domain.script import MADE_HERE, REFUSED, WARNING, Script
from followup.domain.terms import Form, ProblemKind


@dataclass
class Draft:
    """What is worked out on the way. `per_kg`: the exact mg per kg of each dose;

    empty for a fixed amount.
    """

    script: Script
    times: tuple[Times, ...] = ()
    per_kg: tuple[Fraction, ...] = ()
    problems: list[Problem] = field(default_factory=list)

    @property
    def refused(self) -> bool:
        """Whether something found so far refuses it."""
        return any(problem.kind is REFUSED for problem in self.problems)

    def day(self, index: int) -> dt.date:
        """The owner's date of one dose."""
        return self.script.case.hours.local(self.times[index].at).date()

    def say(self, kind: ProblemKind, key: str, message: str) -> None:
        """Note a problem at one key of the prescription."""
        self.problems.append(self.script.problem(kind, key, message))

    def kg(self) -> Fraction:
        """Body weight that doses are reckoned from."""
        return exact(self.script.case.grams_now) / GRAMS_PER_KG


def _rounded(draft: Draft, mg_per_unit: Fraction, step: Fraction) -> Iterator[Rounded]:
    """Each dose in ml or tablets, to whole steps; a dose of none is refused."""
    shares = _shares(draft)
    to_units = draft.kg() / mg_per_unit
    for amount in draft.per_kg:
        yield to_steps(amount * to_units, step, [share * to_units for share in shares[amount]])


def _shares(draft: Draft) -> dict[Fraction, set[Fraction]]:
    """By amount, mg per kg: what one dose of it may reach, so that no day passes a limit that its exact amounts keep.

    Each dose of a day has its share of the day's limit. The same amount has the same volume every day.
    """
    found: dict[Fraction, set[Fraction]] = {amount: set() for amount in draft.per_kg}
    fresh = not draft.script.clinic_gave_or_unknown()
    for number, amounts in enumerate(by_day(draft)):
        total = sum(amounts)
        for limit in limits_kept(draft.script, first_day=fresh and number == 0):
            for amount in amounts:  # where the exact amounts pass it, each share is below its amount and holds nothing
                found[amount].add(limit * amount / total)
    return found


def by_day(draft: Draft) -> list[list[Fraction]]:
    """The exact mg per kg of each dose of each of the owner's days, in order."""
    found: dict[dt.date, list[Fraction]] = {}
    for index, amount in enumerate(draft.per_kg):
        found.setdefault(draft.day(index), []).append(amount)
    return list(found.values())


def _dose(draft: Draft, index: int, rounded: Rounded, mg_per_unit: Fraction) -> PlannedDose:
    times = draft.times[index]
    return PlannedDose(
        number=index + 1,
        at=times.at,
        not_before=times.not_before,
        give_until=times.give_until,
        mg=decimal(draft.per_kg[index] * draft.kg(), Decimal("1e-12")),
        mg_per_kg_delivered=decimal(rounded.amount * mg_per_unit / draft.kg()),
        rounding_error=decimal(rounded.error),
    )


def _medicine(draft: Draft) -> Medicine:
    script = draft.script
    return Medicine(
        drug=script.asked.drug,
        form=script.asked.form,
        route=script.asked.route,
        proposal=script.proposal,
        doses=(),
        is_nsaid=script.is_nsaid,
        every_hours=script.every_hours,
        hard_limit_mg_per_kg_a_day=hard_limit(script),
    )


def _liquid(draft: Draft) -> Medicine:
    strength = exact(_needed(draft.script.asked.mg_per_ml))
    volumes = [amount * draft.kg() / strength for amount in draft.per_kg]
    largest = max(volumes, default=Fraction(0))
    asked = draft.script.asked.syringe_ml
    size = smallest_syringe(largest) if asked is None else Decimal(str(asked))
    mark = mark_of(size)
    rounded = list(_rounded(draft, strength, exact(mark)))
    _check_volumes(draft, rounded, size, largest)
    doses = tuple(
        replace(_dose(draft, index, each, strength), ml=decimal(each.amount)) for index, each in enumerate(rounded)
    )
    return replace(
        _medicine(draft),
        doses=doses,
        mg_per_ml=as_written(_needed(draft.script.asked.mg_per_ml)),
        syringe_ml=size,
        graduation_ml=mark,
        total_ml=decimal(total_ml([each.amount for each in rounded])),
    )


def _check_volumes(draft: Draft, rounded: Sequence[Rounded], size: Decimal, largest: Fraction) -> None:
    if not rounded:
        return
    better = smallest_syringe(largest)
    advice = f"; a {better:f} ml syringe is better" if better != size else "; a weaker liquid is better"
    if any(each.amount <= 0 for each in rounded):
        draft.say(REFUSED, "syringe_ml", f"A dose is nearest to zero on a {size:f} ml syringe{advice}.")
    elif min(each.exact_steps for each in rounded) < FEWEST_MARKS:
        draft.say(WARNING, "syringe_ml", f"A dose is under two marks of a {size:f} ml syringe{advice}.")
    worst = max(abs(each.error) for each in rounded)
    if worst > LIQUID_ERROR:
        draft.say(
            WARNING,
            "syringe_ml",
            f"Rounding to the marks changes a dose by {plain(worst * 100)} %{advice}.",
        )
    if largest > exact(size):
        advice = f"; a {better:f} ml syringe is better" if better != size else "; a stronger liquid is better"
        draft.say(
            WARNING,
            "syringe_ml",
            f"{plain(largest)} ml is more than one {size:f} ml syringe{advice}.",
        )


def _tablet(draft: Draft) -> Medicine:
    asked = draft.script.asked
    strength = exact(_needed(asked.mg_per_tablet))
    rounded = list(_rounded(draft, strength, Fraction(1, asked.tablet_parts)))
    if any(each.amount <= 0 for each in rounded):
        draft.say(REFUSED, "mg_per_tablet", "A dose is nearest to no tablet at all; use a smaller tablet.")
    elif any(abs(each.error) > TABLET_ERROR for each in rounded):
        worst = max(abs(each.error) for each in rounded)
        draft.say(
            WARNING,
            "mg_per_tablet",
            f"Rounding to parts of a tablet changes a dose by {plain(worst * 100)} %.",
        )
    doses = tuple(
        replace(_dose(draft, index, each, strength), tablets=decimal(each.amount)) for index, each in enumerate(rounded)
    )
    return replace(
        _medicine(draft),
        doses=doses,
        mg_per_tablet=as_written(_needed(asked.mg_per_tablet)),
        total_tablets=decimal(total_tablets([each.amount for each in rounded])),
    )


def _fixed(draft: Draft) -> Medicine:
    asked = draft.script.asked
    fixed = f"{plain(exact(_needed(asked.fixed_amount)))} {asked.fixed_unit}"
    doses = tuple(
        PlannedDose(index + 1, times.at, times.not_before, times.give_until, fixed=fixed)
        for index, times in enumerate(draft.times)
    )
    return replace(_medicine(draft), doses=doses)


def _needed(value: float | None) -> float:
    """A part of a prescription that its form cannot do without;

    case files and forms have checked it.
    """
    if value is None:
        raise ValueError(f"this form of medicine lacks an amount; see {MADE_HERE}")
    return value


FORMS = {Form.LIQUID: _liquid, Form.TABLET: _tablet, Form.FIXED: _fixed}
