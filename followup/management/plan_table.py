"""A plan as a table for people at a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from followup.domain.case import Case
from followup.domain.caution import CAUTION
from followup.domain.compiled import CompiledPlan
from followup.domain.course import Course
from followup.domain.going_home import a_day
from followup.services.plan_words import MedicineWords, plan_words


def table(case: Case, compiled: CompiledPlan, course: Course) -> str:
    """Everything in the plan, on the owner's clock."""
    return "\n".join([*_head(case, compiled), *_body(case, compiled, course), "", CAUTION])


def _head(case: Case, compiled: CompiledPlan) -> Iterator[str]:
    name = f"{case.patient.name}, " if case.patient.name else ""
    species, procedure = case.patient.species.value.replace("_", " "), case.procedure.value.replace("_", " ")
    yield f"{name}{species}, {case.patient.weight_g:g} g, {procedure}"
    yield f"{compiled.protocol}; times in {case.hours.zone.key}"


def _body(case: Case, compiled: CompiledPlan, course: Course) -> Iterator[str]:
    words = plan_words(case, compiled)
    for kind, messages in (
        ("REFUSED", words.refused),
        ("A VET MUST CONFIRM", words.needs_vet),
        ("Mind", words.warnings),
    ):
        yield from (f"{kind}: {message}" for message in messages)
    for medicine in words.medicines:
        yield from _medicine(medicine)
    yield from _section("No painkiller at work", [f"{begins} to {ends}" for begins, ends in words.gaps])
    yield from _section("Check-ins", [f"day {each.day:<3} {each.when:<20} {each.what}" for each in words.check_ins])
    yield from _section("Wound reviews", [f"day {each.day:<3} {each.when}" for each in words.reviews])
    yield from _section("Until", [f"{each.when:<20} {each.what}" for each in words.restrictions])
    yield from _section("Feeding and weight", [*_figures(compiled), *_needs(case, course)])
    yield from _section("Sign-off", [f"day {words.sign_off.day:<3} {words.sign_off.when}"])


def _medicine(medicine: MedicineWords) -> Iterator[str]:
    facts = [medicine.strength, medicine.how, medicine.syringe and f"{medicine.syringe} syringe"]
    dispense = medicine.dispense and f"dispense {medicine.dispense}"
    title = ", ".join(each for each in (medicine.drug, *facts, dispense) if each)
    doses = [f"{each.number:>3}  {each.when:<20} {each.amount}" for each in medicine.doses]
    yield from _section(title + (" (a proposal)" if medicine.proposal else ""), doses or ["no doses"])


def _figures(compiled: CompiledPlan) -> Iterator[str]:
    yield f"resting energy {compiled.feeding.resting_energy_kcal_per_day:f} kcal a day"
    span = compiled.feeding.assisted_ml_per_day
    if span is not None:
        yield f"recovery feed, for the vet to decide: {span[0]:f} to {span[1]:f} ml a day"
    bands = compiled.weight_alerts
    emergency = "" if bands.emergency is None else f", emergency {bands.emergency:f}"
    yield f"weight in g: monitor {bands.monitor:f}, urgent {bands.urgent:f}{emergency}"


def _needs(case: Case, course: Course) -> Iterator[str]:
    for need in course.daily_needs:
        low, high = a_day(case.grams_now, need)
        amount = f"{low:f}" if low == high else f"{low:f} to {high:f}"
        yield f"{need.what}, for the vet to decide: {amount} {need.unit} a day"


def _section(title: str, lines: Iterator[str] | list[str]) -> Iterator[str]:
    found = list(lines)
    if found:
        yield f"\n{title}"
        yield from (f"  {line}" for line in found)
