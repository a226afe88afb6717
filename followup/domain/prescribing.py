"""One prescription against what is known of the drug, whatever the amount.

Source: clinical defaults, 8. Amounts per day are compared exactly.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction

from followup.domain.case import Case, GivenInClinic
from followup.domain.compiled import Problem
from followup.domain.exact import exact, plain
from followup.domain.formulary import Never, NotAfter
from followup.domain.script import (
    MADE_HERE,
    NEEDS_VET,
    REFUSED,
    WARNING,
    WRONG_UNIT,
    Script,
    last_nsaid_in_clinic,
)
from followup.domain.terms import Form, HomeRoute

ROUTE_WORDS = {
    HomeRoute.PO: "by mouth",
    HomeRoute.CHEEK: "into the cheek",
    HomeRoute.EYE: "into the eye",
    HomeRoute.EAR: "into the ear",
    HomeRoute.SKIN: "on the skin",
}
BY_MOUTH = frozenset({HomeRoute.PO, HomeRoute.CHEEK})
WEEKS_PER_MONTH = Fraction("4.348")


def drug_problems(script: Script) -> Iterator[Problem]:
    """What stands against this drug in this patient, whatever the amount."""
    yield from _never(script)
    yield from _not_after(script)
    yield from _unknown_drug(script)
    yield from _patient(script)
    yield from _way(script)
    yield from _interval(script)
    yield from _strength(script)
    yield from _course(script)
    if script.is_nsaid:
        yield from _nsaid(script)


def _never(script: Script) -> Iterator[Problem]:
    for each in script.formulary.never:
        if _is_banned(each, script):
            yield script.problem(REFUSED, "drug", f"{script.asked.drug}: {each.because}", each.source.text)


def _is_banned(never: Never, script: Script) -> bool:
    return (
        script.asked.drug in never.drugs
        and script.case.patient.species in never.species
        and (not never.routes or script.asked.route in never.routes)
    )


def _not_after(script: Script) -> Iterator[Problem]:
    if not script.is_nsaid or script.asked.route not in BY_MOUTH:
        return
    for each in script.formulary.not_after:
        given = [given for given in script.case.given_in_clinic or () if _concerns(each, given, script.case)]
        if any(_was_enough(each, one) for one in given):
            yield script.problem(each.kind, "drug", each.because, each.source.text)
        elif any(one.mg_per_kg is None for one in given):
            yield script.problem(
                WARNING,
                "drug",
                f"Nobody wrote how much {each.drug} the clinic gave; {each.because}.",
                each.source.text,
            )


def _concerns(each: NotAfter, given: GivenInClinic, case: Case) -> bool:
    if given.drug != each.drug or case.patient.species not in each.species:
        return False
    if each.jurisdictions and case.jurisdiction not in each.jurisdictions:
        return False
    return not each.routes or given.route is None or given.route in each.routes


def _was_enough(each: NotAfter, given: GivenInClinic) -> bool:
    amount = given.mg_per_kg
    return each.from_mg_per_kg is None or (amount is not None and exact(amount) >= exact(each.from_mg_per_kg))


def _unknown_drug(script: Script) -> Iterator[Problem]:
    for each in script.formulary.asks:
        if each.drug == script.asked.drug:
            yield script.problem(NEEDS_VET, "drug", each.because, each.source.text)
    if script.row is None:
        yield script.problem(
            WARNING if script.asked.drug in script.formulary.settled else NEEDS_VET,
            "drug",
            f"{script.asked.drug} is not in the table for this species: no amount was checked.",
        )
    elif script.asked.form is Form.FIXED and script.row.mg_per_kg is not None:
        yield script.problem(
            NEEDS_VET,
            "fixed_amount",
            f"{script.asked.drug} is given by weight; of a fixed amount no limit was checked.",
        )


def _patient(script: Script) -> Iterator[Problem]:
    row, patient = script.row, script.case.patient
    if row is None:
        return
    if row.least_age_weeks is not None and patient.age_months is not None:
        weeks = exact(patient.age_months) * WEEKS_PER_MONTH
        if weeks < exact(row.least_age_weeks):
            yield Problem(
                NEEDS_VET,
                "$.patient.age_months",
                f"{row.drug} is not for an animal under {row.least_age_weeks:f} weeks; it is about "
                f"{plain(Fraction(int(weeks * 10), 10))}.",
                row.source.text,
            )
    if row.least_weight_g is not None and exact(script.case.grams_now) < exact(row.least_weight_g):
        yield Problem(
            NEEDS_VET,
            "$.patient.weight_g",
            f"{row.drug} is not for an animal under {row.least_weight_g:f} g.",
            row.source.text,
        )
    if row.off_label and script.asked.off_label_explained is not True and not script.proposal:
        yield script.problem(
            WARNING,
            "off_label_explained",
            f"{row.drug} is off the label in this species; nobody noted that it was explained.",
            row.source.text,
        )


def _way(script: Script) -> Iterator[Problem]:
    """By which route it usually goes, and what whoever gives it must know."""
    row = script.row
    if row is None:
        return
    if row.routes and script.asked.route not in row.routes:
        usual = " or ".join(sorted(ROUTE_WORDS[each] for each in row.routes))
        asked = ROUTE_WORDS[script.asked.route]
        yield script.problem(NEEDS_VET, "route", f"{row.drug} {asked}: usual is {usual}.", row.source.text)
    if row.caution:
        yield script.problem(WARNING, "drug", f"{row.drug}: {row.caution}", row.source.text)


def _interval(script: Script) -> Iterator[Problem]:
    row = script.row
    if row is not None and script.every_hours not in row.every_hours:
        usual = " or ".join(f"{each:f}" for each in row.every_hours)
        yield script.problem(
            NEEDS_VET,
            "every_hours",
            f"{row.drug} every {script.every_hours:f} hours: usual is every {usual}.",
            row.source.text,
        )
    if script.every_hours == Decimal(8):
        yield script.problem(
            WARNING,
            "every_hours",
            "Three doses a day are kept inside waking hours, so they are not 8 hours apart.",
        )


def _strength(script: Script) -> Iterator[Problem]:
    mg_per_ml = script.asked.mg_per_ml
    for each in script.formulary.strengths:
        if each.drug == script.asked.drug and mg_per_ml is not None and Decimal(str(mg_per_ml)) not in each.mg_per_ml:
            known = " or ".join(f"{strength:f}" for strength in sorted(each.mg_per_ml))
            yield script.problem(
                WARNING,
                "mg_per_ml",
                f"{each.drug} {mg_per_ml:g} mg/ml is not a usual strength ({known}); {WRONG_UNIT}.",
                each.source.text,
            )


def _course(script: Script) -> Iterator[Problem]:
    row = script.row
    if row is None:
        return
    in_all = script.asked.days + script.days_behind()
    reached = [each for each in row.longer if in_all >= each.from_day]
    if reached:
        worst = max(reached, key=lambda each: each.from_day)
        yield script.problem(
            worst.kind,
            "days",
            f"{in_all} days in all, the clinic's counted: {worst.because}",
            worst.source.text,
        )


def _nsaid(script: Script) -> Iterator[Problem]:
    case = script.case
    for caution in sorted(case.patient.cautions):
        yield Problem(
            NEEDS_VET,
            "$.patient.cautions",
            f"{caution.value.replace('_', ' ')}: {script.asked.drug} only when a vet confirms it.",
            MADE_HERE,
        )
    if case.given_in_clinic is None:
        yield Problem(
            NEEDS_VET,
            "$.given_in_clinic",
            "What the clinic gave is not known: the first dose waits for 24 hours after surgery.",
            MADE_HERE,
        )
    elif last_nsaid_in_clinic(case, script.formulary) is None:
        row = script.row
        yield Problem(
            NEEDS_VET if row is not None and row.fresh_needs_vet else WARNING,
            "$.given_in_clinic",
            f"The clinic gave no anti-inflammatory: {script.asked.drug} starts on going home.",
            MADE_HERE,
        )
