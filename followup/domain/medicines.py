"""One prescription turned into doses: their times, their amounts, what to dispense. Source: clinical defaults, 8."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from fractions import Fraction

from followup.domain.bounds import HOUR
from followup.domain.compiled import Medicine, PlannedDose, Problem
from followup.domain.dose_times import CannotBeKept, FirstDose, Times, dose_times, how_many
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
from followup.domain.exact import GRAMS_PER_KG, decimal, exact, plain
from followup.domain.hours import DAY
from followup.domain.prescribing import (
    MADE_HERE,
    REFUSED,
    WARNING,
    Script,
    day_problems,
    drug_problems,
    last_nsaid_in_clinic,
    limits_kept,
    other_nsaid_problem,
)
from followup.domain.terms import Form, ProblemKind

FIRST_EVENING = dt.time(19)
"""Where the clinic gave nothing, the first dose at home is at this hour of surgery day (D)."""

AFTER_DISCHARGE = HOUR
"""... or this long after discharge where that is later (D)."""


@dataclass(frozen=True)
class Prescribed:
    """A medicine with everything that was found about it."""

    medicine: Medicine
    problems: tuple[Problem, ...]


@dataclass
class _Draft:
    """What is worked out on the way. `per_kg`: the exact mg per kg of each dose; empty for a fixed amount."""

    script: Script
    times: tuple[Times, ...] = ()
    per_kg: tuple[Fraction, ...] = ()
    problems: list[Problem] = field(default_factory=list)

    @property
    def refused(self) -> bool:
        return any(problem.kind is REFUSED for problem in self.problems)

    def say(self, kind: ProblemKind, key: str, message: str) -> None:
        self.problems.append(self.script.problem(kind, key, message))

    def kg(self) -> Fraction:
        return exact(self.script.case.patient.weight_g) / GRAMS_PER_KG


def prescribe(script: Script, also: Sequence[Problem] = ()) -> Prescribed:
    """The doses of one prescription, or none where something is refused. `also`: problems found beside it."""
    draft = _Draft(script, problems=[*also, *drug_problems(script)])
    _plan_times(draft)
    _plan_amounts(draft)
    medicine = _FORMS[script.asked.form](draft)
    if draft.refused:
        medicine = _without_doses(medicine)
    return Prescribed(medicine, tuple(draft.problems))


def first_dose(script: Script) -> FirstDose:
    """When the first dose at home is wanted, and before when it must not be given."""
    case = script.case
    evening = _first_evening(script)
    if not script.is_nsaid:
        last = max((given.at for given in script.clinic_doses()), default=None)
        least = case.discharged_at
        if last is not None:
            least = max(least, last + float(script.every_hours) * HOUR)
        return FirstDose(wanted=max(evening, least), not_before=least)
    nsaid = last_nsaid_in_clinic(case, script.formulary)
    if case.given_in_clinic is not None and nsaid is None:
        return FirstDose(wanted=evening, not_before=case.discharged_at)
    since = nsaid.at if nsaid is not None else case.surgery_ended_at
    least = max(since + DAY, case.discharged_at)
    return FirstDose(wanted=least, not_before=least)


def _first_evening(script: Script) -> dt.datetime:
    """19:00 on the day of surgery, or an hour after discharge where that is later."""
    case = script.case
    day = case.hours.local(case.surgery_ended_at).date()
    return max(case.hours.instant(day, FIRST_EVENING), case.discharged_at + AFTER_DISCHARGE)


def _plan_times(draft: _Draft) -> None:
    script = draft.script
    first, every = first_dose(script), script.every_hours
    try:
        times = dose_times(script.case.hours, first, every, how_many(script.asked.days, every))
    except CannotBeKept as refusal:
        draft.say(REFUSED, "every_hours", str(refusal))
        return
    draft.times = times
    late = (times[0].at - first.wanted) / HOUR
    if late > 0 and script.is_nsaid:
        draft.say(
            WARNING,
            "every_hours",
            f"The first dose waits {late:.1f} hours longer, until somebody is awake and there for it.",
        )
    draft.problems.extend(other_nsaid_problem(script, times[0].at))


def _plan_amounts(draft: _Draft) -> None:
    asked = draft.script.asked
    if asked.mg_per_kg is None or asked.form is Form.FIXED:
        return
    first = usual = exact(asked.mg_per_kg)
    loading = asked.first_mg_per_kg is not None
    if asked.first_mg_per_kg is not None:
        if draft.script.clinic_gave_or_unknown():
            loading = False
            draft.say(
                WARNING,
                "first_mg_per_kg",
                "The larger first dose is dropped: the clinic gave this drug, or nobody knows what it gave.",
            )
        else:
            first = exact(asked.first_mg_per_kg)
    draft.per_kg = tuple(first if index == 0 else usual for index in range(len(draft.times)))
    first_day = loading or not draft.script.clinic_gave_or_unknown()
    draft.problems.extend(day_problems(draft.script, _by_day(draft), first_is_loading=first_day))


def _by_day(draft: _Draft) -> list[Fraction]:
    """The exact mg per kg of each of the owner's days, in order."""
    hours, sums = draft.script.case.hours, Counter[dt.date]()
    found: dict[dt.date, Fraction] = {}
    for times, amount in zip(draft.times, draft.per_kg, strict=True):
        day = hours.local(times.at).date()
        sums[day] += 1
        found[day] = found.get(day, Fraction(0)) + amount
    return list(found.values())


def _rounded(draft: _Draft, mg_per_unit: Fraction, step: Fraction) -> Iterator[Rounded]:
    """Each dose in ml or tablets, to whole steps; a dose of none is refused."""
    days = Counter(draft.script.case.hours.local(times.at).date() for times in draft.times)
    fresh = not draft.script.clinic_gave_or_unknown()
    for index, (times, amount) in enumerate(zip(draft.times, draft.per_kg, strict=True)):
        doses_a_day = days[draft.script.case.hours.local(times.at).date()]
        limits = limits_kept(draft.script, doses_a_day, loading=fresh and index == 0)
        to_units = draft.kg() / mg_per_unit
        yield to_steps(amount * to_units, step, [limit * to_units for limit in limits])


def _dose(draft: _Draft, index: int, rounded: Rounded, mg_per_unit: Fraction) -> PlannedDose:
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


def _medicine(draft: _Draft) -> Medicine:
    script = draft.script
    return Medicine(
        drug=script.asked.drug,
        form=script.asked.form,
        route=script.asked.route,
        proposal=script.proposal,
        doses=(),
        is_nsaid=script.is_nsaid,
        every_hours=script.every_hours,
    )


def _liquid(draft: _Draft) -> Medicine:
    strength = exact(_needed(draft.script.asked.mg_per_ml))
    volumes = [amount * draft.kg() / strength for amount in draft.per_kg]
    largest = max(volumes, default=Fraction(0))
    asked = draft.script.asked.syringe_ml
    size = smallest_syringe(largest) if asked is None else Decimal(str(asked))
    mark = mark_of(size)
    rounded = list(_rounded(draft, strength, exact(mark)))
    _check_volumes(draft, rounded, size, largest)
    doses = tuple(
        replace(_dose(draft, index, each, strength), ml=decimal(each.amount))
        for index, each in enumerate(rounded)
    )
    return replace(
        _medicine(draft),
        doses=doses,
        mg_per_ml=decimal(strength),
        syringe_ml=size,
        graduation_ml=mark,
        total_ml=decimal(total_ml([each.amount for each in rounded])),
    )


def _check_volumes(
    draft: _Draft, rounded: Sequence[Rounded], size: Decimal, largest: Fraction
) -> None:
    if not rounded:
        return
    better = smallest_syringe(largest)
    advice = (
        f"; a {better:f} ml syringe is better" if better != size else "; a weaker liquid is better"
    )
    if any(each.amount <= 0 for each in rounded):
        draft.say(
            REFUSED, "syringe_ml", f"A dose is nearest to zero on a {size:f} ml syringe{advice}."
        )
    elif min(each.exact_steps for each in rounded) < FEWEST_MARKS:
        draft.say(
            WARNING, "syringe_ml", f"A dose is under two marks of a {size:f} ml syringe{advice}."
        )
    worst = max(abs(each.error) for each in rounded)
    if worst > LIQUID_ERROR:
        draft.say(
            WARNING,
            "syringe_ml",
            f"Rounding to the marks changes a dose by {plain(worst * 100)} %{advice}.",
        )
    if largest > exact(size):
        advice = (
            f"; a {better:f} ml syringe is better"
            if better != size
            else "; a stronger liquid is better"
        )
        draft.say(
            WARNING,
            "syringe_ml",
            f"{plain(largest)} ml is more than one {size:f} ml syringe{advice}.",
        )


def _tablet(draft: _Draft) -> Medicine:
    asked = draft.script.asked
    strength = exact(_needed(asked.mg_per_tablet))
    rounded = list(_rounded(draft, strength, Fraction(1, asked.tablet_parts)))
    if any(each.amount <= 0 for each in rounded):
        draft.say(
            REFUSED, "mg_per_tablet", "A dose is nearest to no tablet at all; use a smaller tablet."
        )
    elif any(abs(each.error) > TABLET_ERROR for each in rounded):
        worst = max(abs(each.error) for each in rounded)
        draft.say(
            WARNING,
            "mg_per_tablet",
            f"Rounding to parts of a tablet changes a dose by {plain(worst * 100)} %.",
        )
    doses = tuple(
        replace(_dose(draft, index, each, strength), tablets=decimal(each.amount))
        for index, each in enumerate(rounded)
    )
    return replace(
        _medicine(draft),
        doses=doses,
        mg_per_tablet=decimal(strength),
        total_tablets=decimal(total_tablets([each.amount for each in rounded])),
    )


def _fixed(draft: _Draft) -> Medicine:
    asked = draft.script.asked
    fixed = f"{plain(exact(_needed(asked.fixed_amount)))} {asked.fixed_unit}"
    doses = tuple(
        PlannedDose(index + 1, times.at, times.not_before, times.give_until, fixed=fixed)
        for index, times in enumerate(draft.times)
    )
    return replace(_medicine(draft), doses=doses)


def _without_doses(medicine: Medicine) -> Medicine:
    """A refused medicine keeps its entry, with no doses and nothing to dispense."""
    none = Decimal(0)
    return replace(
        medicine,
        doses=(),
        total_ml=none if medicine.form is Form.LIQUID else None,
        total_tablets=none if medicine.form is Form.TABLET else None,
    )


def _needed(value: float | None) -> float:
    """A part of a prescription that its form cannot do without; case files and forms have checked it."""
    if value is None:
        raise ValueError(f"this form of medicine lacks an amount; see {MADE_HERE}")
    return value


_FORMS = {Form.LIQUID: _liquid, Form.TABLET: _tablet, Form.FIXED: _fixed}
