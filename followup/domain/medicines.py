"""One prescription turned into doses: their times, their amounts, what to dispense. Source:

clinical defaults, 8.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from followup.domain.amounts import FORMS, Draft, by_day
from followup.domain.bounds import HOUR
from followup.domain.compiled import Medicine, Problem
from followup.domain.dose_times import (
    CannotBeKept,
    FirstDose,
    dose_times,
    dose_times_after,
    how_many,
    refuse_too_rare,
)
from followup.domain.exact import exact
from followup.domain.hours import DAY
from followup.domain.limits import day_problems, far_off
from followup.domain.prescribing import drug_problems
from followup.domain.script import REFUSED, WARNING, GoesOn, Script, last_nsaid_in_clinic
from followup.domain.side_by_side import problems_of_the_day_before
from followup.domain.terms import Form

FIRST_EVENING = dt.time(19)
"""Where the clinic gave nothing, the first dose at home is at this hour of surgery day (D)."""

AFTER_DISCHARGE = HOUR
"""... or this long after discharge where that is later (D)."""


@dataclass(frozen=True)
class Prescribed:
    """A medicine with everything that was found about it."""

    medicine: Medicine
    problems: tuple[Problem, ...]


def prescribe(script: Script, also: Sequence[Problem] = ()) -> Prescribed:
    """The doses of one prescription, or none where something is refused. `also`:

    problems found beside it.
    """
    draft = Draft(script, problems=[*also, *drug_problems(script)])
    _plan_times(draft)
    _plan_amounts(draft)
    medicine = FORMS[script.asked.form](draft)
    if draft.refused:
        medicine = _without_doses(medicine)
    return Prescribed(medicine, tuple(draft.problems))


def first_dose(script: Script) -> FirstDose:
    """When the first dose at home is wanted, and before when it must not be given."""
    if script.goes_on is not None and (following := _following(script, script.goes_on)) is not None:
        return following
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


def _following(script: Script, goes_on: GoesOn) -> FirstDose | None:
    """Of a course that goes on: as planned, or one interval after the last dose at home; never in the past.

    None where the clinic has given the drug since, or another NSAID after one: then it begins as after any clinic dose.
    """
    case, last = script.case, goes_on.last
    if goes_on.following is not None:
        return FirstDose(max(goes_on.following.at, case.discharged_at), not_before=goes_on.following.not_before)
    if last is None or any(each.at > last and _same_kind(script, each.drug) for each in case.given_in_clinic or ()):
        return None
    times = dose_times_after(case.hours, last, script.every_hours, 1)[0]
    return FirstDose(max(times.at, case.discharged_at), max(times.not_before, case.discharged_at))


def _same_kind(script: Script, drug: str) -> bool:
    return drug == script.asked.drug or (script.is_nsaid and script.formulary.is_nsaid(drug))


def _count(script: Script) -> int:
    """How many doses are to come."""
    count = script.goes_on.count if script.goes_on is not None else None
    return how_many(script.asked.days, script.every_hours) if count is None else count


def _first_evening(script: Script) -> dt.datetime:
    """19:00 on the day of surgery, or an hour after discharge where that is later."""
    case = script.case
    return max(case.hours.instant(case.day_0, FIRST_EVENING), case.discharged_at + AFTER_DISCHARGE)


def _plan_times(draft: Draft) -> None:
    script = draft.script
    try:
        refuse_too_rare(script.every_hours)
        first = first_dose(script)
        times = dose_times(script.case.hours, first, script.every_hours, _count(script))
    except CannotBeKept as refusal:
        draft.say(REFUSED, "every_hours", str(refusal))
        return
    draft.times = times
    late = (times[0].at - first.wanted) / HOUR
    if late > 0 and script.is_nsaid:
        draft.say(
            WARNING,
            "every_hours",
            f"The first dose waits {late:.1f} hours longer, until somebody is awake and there.",
        )
    draft.problems.extend(problems_of_the_day_before(script, times[0].at))


def _plan_amounts(draft: Draft) -> None:
    asked, fresh = draft.script.asked, not draft.script.clinic_gave_or_unknown()
    if asked.mg_per_kg is None or asked.form is Form.FIXED:
        return
    first = usual = exact(asked.mg_per_kg)
    if asked.first_mg_per_kg is not None and fresh:
        first = exact(asked.first_mg_per_kg)
    elif asked.first_mg_per_kg is not None:
        draft.say(
            WARNING,
            "first_mg_per_kg",
            "The larger first dose is dropped: the clinic gave this drug, or nobody knows what it gave.",
        )
    draft.per_kg = tuple(first if index == 0 else usual for index in range(len(draft.times)))
    draft.problems.extend(
        day_problems(draft.script, [sum(day, Fraction(0)) for day in by_day(draft)], first_is_loading=fresh)
    )
    draft.problems.extend(far_off(draft.script, max(first, usual)))


def _without_doses(medicine: Medicine) -> Medicine:
    """A refused medicine keeps its entry, with no doses and nothing to dispense."""
    none = Decimal(0)
    return replace(
        medicine,
        doses=(),
        total_ml=none if medicine.form is Form.LIQUID else None,
        total_tablets=none if medicine.form is Form.TABLET else None,
    )
