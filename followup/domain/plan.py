"""One recovery, computed:

from a case and a protocol to everything that the clinic and the owner will be asked to do.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import replace

from followup.domain.agreed import with_agreed
from followup.domain.asked import questions_of
from followup.domain.case import Case
from followup.domain.check_in_times import AskAt, answer_by, check_in_times
from followup.domain.compiled import (
    CompiledPlan,
    Medicine,
    PlannedCheckIn,
    Problem,
    Restriction,
    Review,
)
from followup.domain.course import Course
from followup.domain.cover import cover_of
from followup.domain.formulary import Formulary
from followup.domain.going_home import feeding_of, home_problems, weight_alerts
from followup.domain.hours import DAY
from followup.domain.medicines import Prescribed, prescribe
from followup.domain.proposing import propose
from followup.domain.protocol import Protocol
from followup.domain.script import Script
from followup.domain.side_by_side import side_by_side
from followup.domain.terms import FollowUpError, Jurisdiction, ProblemKind

NOON = dt.time(12)
"""Reviews, sign-off and restrictions carry this hour of their date, in the owner's zone (D)."""

WORST_FIRST = (ProblemKind.REFUSED, ProblemKind.NEEDS_VET, ProblemKind.WARNING)


class WrongProtocol(FollowUpError):
    """The protocol is for another species or another operation."""


def compile_plan(
    case: Case,
    protocol: Protocol,
    formulary: Formulary,
    *,
    approved: bool = True,
    out_of_hours_known: bool = True,
) -> CompiledPlan:
    """The plan, with every problem that stands against it, worst first.

    `approved`: a vet of the practice has approved this version of the protocol.
    `out_of_hours_known`: the practice has
    an out-of-hours provider for this species. Raises WrongProtocol, NoSuchSyringe and NeverThere.
    """
    if (protocol.species, protocol.procedure) != (case.patient.species, case.procedure):
        raise WrongProtocol(f"{protocol.title} is not for this patient and operation.")
    case = in_utc(case)
    formulary = with_agreed(formulary, case.patient.species, protocol.agreed)
    prescribed, proposal_problems = _prescribed(case, formulary)
    problems = (
        *proposal_problems,
        *(problem for each in prescribed for problem in each.problems),
        *_practice_problems(case, approved=approved, out_of_hours_known=out_of_hours_known),
    )
    medicines = tuple(each.medicine for each in prescribed)
    return plan_around(medicines, problems, case=case, protocol=protocol, formulary=formulary)


def plan_around(
    medicines: tuple[Medicine, ...],
    found: Sequence[Problem],
    *,
    case: Case,
    protocol: Protocol,
    formulary: Formulary,
) -> CompiledPlan:
    """The plan around medicines that are worked out already. `case` in UTC; `found`: what stands against them."""
    course = protocol.course
    nsaid_at_home = any(medicine.is_nsaid for medicine in medicines)
    problems = [*found, *home_problems(case, course, nsaid_at_home=nsaid_at_home)]
    return CompiledPlan(
        protocol=protocol.pinned,
        medication=medicines,
        feeding=feeding_of(case.grams_now, course.feeding),
        weight_alerts=weight_alerts(case.patient.weight_g, course.weight_bands),
        check_ins=planned_check_ins(case, course),
        wound_reviews=tuple(Review(day, noon_of(case, day)) for day in course.review_days),
        restrictions=tuple(Restriction(each.what, noon_of(case, each.days)) for each in course.restrictions),
        cover=cover_of(case, medicines, formulary),
        sign_off_at=noon_of(case, course.sign_off_day),
        problems=tuple(sorted(dict.fromkeys(problems), key=lambda each: WORST_FIRST.index(each.kind))),
    )


def in_utc(case: Case) -> Case:
    """The same case with every time in UTC:

    adding hours to a zone's own clock goes wrong at a clock change.
    """
    given = case.given_in_clinic
    ate = case.last_ate_before_discharge_at
    return replace(
        case,
        surgery_ended_at=case.surgery_ended_at.astimezone(dt.UTC),
        discharged_at=case.discharged_at.astimezone(dt.UTC),
        given_in_clinic=None
        if given is None
        else tuple(replace(each, at=each.at.astimezone(dt.UTC)) for each in given),
        last_ate_before_discharge_at=None if ate is None else ate.astimezone(dt.UTC),
    )


def noon_of(case: Case, day: int) -> dt.datetime:
    """12:00 where the owner lives, `day` days after surgery."""
    return case.hours.instant(case.day_0 + day * DAY, NOON)


def _prescribed(case: Case, formulary: Formulary) -> tuple[tuple[Prescribed, ...], tuple[Problem, ...]]:
    if case.home_medication is None:
        proposal, problems = propose(case, formulary)
        return (() if proposal is None else (proposal,)), problems
    scripts = [
        Script(asked, f"$.home_medication[{index}]", case, formulary)
        for index, asked in enumerate(case.home_medication)
    ]
    beside = side_by_side(scripts)
    return tuple(prescribe(script, beside[script.path]) for script in scripts), ()


def planned_check_ins(case: Case, course: Course) -> tuple[PlannedCheckIn, ...]:
    """When we ask, and what."""
    found = check_in_times(case, course.asks)
    return tuple(_check_in(each, case, course, first=index == 0) for index, each in enumerate(found))


def _check_in(each: AskAt, case: Case, course: Course, *, first: bool) -> PlannedCheckIn:
    return PlannedCheckIn(
        at=each.at,
        answer_by=answer_by(case, each.at, course.answer_within),
        kind=each.kind,
        day=each.day,
        questions=questions_of(each, case, course, first=first),
        photo=any(ask.photo for ask in each.asks),
    )


def _practice_problems(case: Case, *, approved: bool, out_of_hours_known: bool) -> Iterator[Problem]:
    if not approved:
        yield Problem(
            ProblemKind.WARNING,
            "$.procedure",
            "No vet of this practice has approved this protocol: it is a draft.",
        )
    if not out_of_hours_known:
        yield Problem(
            ProblemKind.WARNING,
            "$.patient.species",
            "No out-of-hours provider is written down for this species: the owner has no number at night.",
        )
    if case.jurisdiction is Jurisdiction.OTHER:
        yield Problem(
            ProblemKind.WARNING,
            "$.jurisdiction",
            "The regimens of the EU and UK are used; local product information decides.",
        )
