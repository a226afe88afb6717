"""A plan's versions side by side: what each said, who changed it and why."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace

from followup.casefile import compiled_from_json, read_case
from followup.domain.case import Case
from followup.domain.compiled import CompiledPlan
from followup.domain.dose_words import number_in_words
from followup.domain.exact import decimal, exact
from followup.models import Plan
from followup.services.facts import case_of, compiled_of
from followup.services.plan_words import PlanWords, plan_words


@dataclass(frozen=True)
class Cell:
    """What one version says of one thing. `changed`: the version before says something else."""

    lines: tuple[str, ...]
    changed: bool


@dataclass(frozen=True)
class Line:
    """One thing, as every version has it."""

    what: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class Version:
    """One version. `until` None: it is in force. `because` and `by`: who replaced the one before, and why."""

    number: int
    since: dt.datetime
    until: dt.datetime | None
    by: str
    because: str
    changes: tuple[str, ...]


@dataclass(frozen=True)
class Versions:
    """All of them, oldest first, and what they say, line by line."""

    versions: tuple[Version, ...]
    lines: tuple[Line, ...]


@dataclass(frozen=True)
class _Kept:
    case: Case
    compiled: CompiledPlan


def versions_of(plan: Plan) -> Versions:
    """Every version of a plan, with the one in force last. Two queries."""
    rows = list(plan.versions.select_related("replaced_by"))
    kept = [_Kept(_case(plan, row.case, row.dosing_weight_g), compiled_from_json(row.compiled)) for row in rows]
    kept.append(_Kept(case_of(plan), compiled_of(plan)))
    began = plan.confirmed_at or plan.enrolled_at
    known = [
        Version(
            number=number,
            since=rows[index - 1].replaced_at if index else began,
            until=rows[index].replaced_at if index < len(rows) else None,
            by=str(rows[index - 1].replaced_by) if index else str(plan.confirmed_by or plan.enrolled_by),
            because=rows[index - 1].because if index else "",
            changes=tuple(rows[index - 1].changes) if index else (),
        )
        for index, number in enumerate([*(row.number for row in rows), plan.version])
    ]
    return Versions(tuple(known), tuple(_lines(kept)))


def _case(plan: Plan, values: object, dosing_weight_g: float | None) -> Case:
    return replace(read_case(values), operated_on=plan.operated_on, dosing_weight_g=dosing_weight_g)


def _lines(kept: Sequence[_Kept]) -> list[Line]:
    words = [plan_words(each.case, each.compiled) for each in kept]
    drugs = list(dict.fromkeys(medicine.drug for each in words for medicine in each.medicines))
    return [
        Line("Weight that doses are reckoned from", _cells([_grams(each.case) for each in kept])),
        *(Line(drug, _cells([_medicine(each, drug) for each in words])) for drug in drugs),
        Line("No painkiller at work", _cells([_gaps(each) for each in words])),
        Line("Check-ins", _cells([tuple(each.when for each in one.check_ins) for one in words])),
        Line("Wound reviews", _cells([tuple(each.when for each in one.reviews) for one in words])),
        Line("End of the follow-up", _cells([(each.sign_off.when,) for each in words])),
        Line("Owner's clock", _cells([_clock(each.case) for each in kept])),
    ]


def _cells(said: Sequence[tuple[str, ...]]) -> tuple[Cell, ...]:
    return tuple(Cell(lines, changed=index > 0 and lines != said[index - 1]) for index, lines in enumerate(said))


def _grams(case: Case) -> tuple[str, ...]:
    return (f"{number_in_words(decimal(exact(case.grams_now)))} g",)


def _medicine(words: PlanWords, drug: str) -> tuple[str, ...]:
    found = next((each for each in words.medicines if each.drug == drug), None)
    if found is None:
        return ("not given",)
    return (f"{found.strength}, {found.how}".strip(", "), *(f"{dose.when}: {dose.amount}" for dose in found.doses))


def _gaps(words: PlanWords) -> tuple[str, ...]:
    return tuple(f"{starts} to {ends}" for starts, ends in words.gaps) or ("none",)


def _clock(case: Case) -> tuple[str, ...]:
    hours = case.hours
    return (hours.zone.key, f"awake {hours.wakes:%H:%M} to {hours.sleeps:%H:%M}")
