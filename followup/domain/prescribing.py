"""One prescription against what is known of the drug: what is refused, what a vet must confirm, what is worth seeing.

Source: clinical defaults, 8. Amounts per day are compared exactly.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from followup.domain.case import Case, GivenInClinic, Prescription
from followup.domain.compiled import Problem
from followup.domain.exact import decimal, exact, plain
from followup.domain.formulary import DoseRow, Formulary, Limit, Never, NotAfter
from followup.domain.hours import DAY
from followup.domain.terms import HomeRoute, ProblemKind

REFUSED, NEEDS_VET, WARNING = ProblemKind.REFUSED, ProblemKind.NEEDS_VET, ProblemKind.WARNING
WEEKS_PER_MONTH = Fraction("4.348")
FAR_OFF = 10
"""A dose this many times the usual amount is most likely a wrong unit (M)."""

WRONG_UNIT = "check the unit: mg or microgram, per cent or mg/ml, lb or kg"
MADE_HERE = "clinical defaults, 8"


@dataclass(frozen=True)
class Script:
    """One prescription where it stands: in which case, at which path, against which row."""

    asked: Prescription
    path: str
    case: Case
    formulary: Formulary
    proposal: bool = False

    @property
    def row(self) -> DoseRow | None:
        """What the table says of this drug in this species."""
        return self.formulary.row(self.asked.drug, self.case.patient.species)

    @property
    def is_nsaid(self) -> bool:
        """Whether the drug is an NSAID."""
        return self.formulary.is_nsaid(self.asked.drug)

    @property
    def every_hours(self) -> Decimal:
        """The interval as it was written."""
        return decimal(exact(self.asked.every_hours))

    def clinic_doses(self) -> tuple[GivenInClinic, ...]:
        """What the clinic is known to have given of this drug."""
        given = self.case.given_in_clinic or ()
        return tuple(each for each in given if each.drug == self.asked.drug)

    def clinic_gave_or_unknown(self) -> bool:
        """Whether the clinic gave this drug, or nobody knows what it gave."""
        return self.case.given_in_clinic is None or bool(self.clinic_doses())

    def problem(
        self, kind: ProblemKind, key: str, message: str, source: str = MADE_HERE
    ) -> Problem:
        """A problem at one key of this prescription."""
        path = f"{self.path}.{key}" if key and not self.proposal else self.path
        return Problem(kind, path, message, source)


def last_nsaid_in_clinic(case: Case, formulary: Formulary) -> GivenInClinic | None:
    """The clinic's latest NSAID dose, or None when none is known."""
    given = [each for each in case.given_in_clinic or () if formulary.is_nsaid(each.drug)]
    return max(given, key=lambda each: each.at, default=None)


def drug_problems(script: Script) -> Iterator[Problem]:
    """What stands against this drug in this patient, whatever the amount."""
    yield from _never(script)
    yield from _not_after(script)
    yield from _unknown_drug(script)
    yield from _patient(script)
    yield from _interval(script)
    yield from _strength(script)
    yield from _course(script)
    if script.is_nsaid:
        yield from _nsaid(script)


def day_problems(
    script: Script, days: Sequence[Fraction], *, first_is_loading: bool
) -> Iterator[Problem]:
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
            if _passes(
                limit, amount, bound := _bound(limit, first_day=first_is_loading and index == 0)
            )
        ]
        if passed:
            amount, bound = max(passed) if not limit.below else min(passed)
            yield script.problem(
                limit.kind,
                "mg_per_kg",
                f"{script.asked.drug} {plain(amount)} mg/kg a day is {'below' if limit.below else 'above'} "
                f"{plain(bound)}: {limit.because}",
                limit.source.text,
            )
    yield from _far_off(script, max(days, default=Fraction(0)))


def limits_kept(script: Script, doses_a_day: int, *, loading: bool) -> tuple[Fraction, ...]:
    """The needs_vet and refused limits of one dose, in mg per kg, that rounding up must not pass."""
    row = script.row
    limits = row.limits if row is not None else ()
    return tuple(
        _bound(limit, first_day=loading) / doses_a_day
        for limit in limits
        if limit.kind is not WARNING and not limit.below
    )


def _bound(limit: Limit, *, first_day: bool) -> Fraction:
    return exact(
        limit.first_day if first_day and limit.first_day is not None else limit.mg_per_kg_a_day
    )


def _passes(limit: Limit, amount: Fraction, bound: Fraction) -> bool:
    return amount < bound if limit.below else amount > bound


def _far_off(script: Script, most: Fraction) -> Iterator[Problem]:
    row = script.row
    usual = row.mg_per_kg if row is not None else None
    if usual is not None and most > FAR_OFF * exact(usual):
        yield script.problem(
            WARNING,
            "mg_per_kg",
            f"More than {FAR_OFF} times the usual {usual:f} mg/kg; {WRONG_UNIT}.",
        )


def _never(script: Script) -> Iterator[Problem]:
    for each in script.formulary.never:
        if _is_banned(each, script):
            yield script.problem(
                REFUSED, "drug", f"{script.asked.drug}: {each.because}", each.source.text
            )


def _is_banned(never: Never, script: Script) -> bool:
    return (
        script.asked.drug in never.drugs
        and script.case.patient.species in never.species
        and (not never.routes or script.asked.route in never.routes)
    )


def _not_after(script: Script) -> Iterator[Problem]:
    if not script.is_nsaid or script.asked.route is not HomeRoute.PO:
        return
    for each in script.formulary.not_after:
        if any(_followed(each, given, script.case) for given in script.case.given_in_clinic or ()):
            yield script.problem(each.kind, "drug", each.because, each.source.text)


def _followed(each: NotAfter, given: GivenInClinic, case: Case) -> bool:
    if given.drug != each.drug or case.patient.species not in each.species:
        return False
    if each.jurisdictions and case.jurisdiction not in each.jurisdictions:
        return False
    if each.routes and given.route is not None and given.route not in each.routes:
        return False
    amount = given.mg_per_kg
    return each.from_mg_per_kg is None or (
        amount is not None and exact(amount) >= exact(each.from_mg_per_kg)
    )


def _unknown_drug(script: Script) -> Iterator[Problem]:
    for each in script.formulary.asks:
        if each.drug == script.asked.drug:
            yield script.problem(NEEDS_VET, "drug", each.because, each.source.text)
    if script.row is None:
        yield script.problem(
            NEEDS_VET,
            "drug",
            f"{script.asked.drug} is not in the table of medicines for this species: no amount was checked.",
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
                f"{row.drug} is not for an animal under {row.least_age_weeks:f} weeks; this one is about "
                f"{plain(Fraction(int(weeks * 10), 10))}.",
                row.source.text,
            )
    if row.least_weight_g is not None and exact(patient.weight_g) < exact(row.least_weight_g):
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
            f"{row.drug} is off the label in this species, and nobody wrote down that it was explained.",
            row.source.text,
        )


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
        if (
            each.drug == script.asked.drug
            and mg_per_ml is not None
            and Decimal(str(mg_per_ml)) not in each.mg_per_ml
        ):
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
    in_all = script.asked.days + (1 if script.clinic_gave_or_unknown() else 0)
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
    for index, caution in enumerate(sorted(case.patient.cautions)):
        yield Problem(
            NEEDS_VET,
            f"$.patient.cautions[{index}]",
            f"{caution.value.replace('_', ' ')}: {script.asked.drug} only when a vet confirms it.",
            MADE_HERE,
        )
    if case.given_in_clinic is None:
        yield Problem(
            NEEDS_VET,
            "$.given_in_clinic",
            "What the clinic gave is not known: the first dose at home waits for 24 hours after surgery.",
            MADE_HERE,
        )
    elif last_nsaid_in_clinic(case, script.formulary) is None:
        yield Problem(
            WARNING,
            "$.given_in_clinic",
            f"The clinic gave no anti-inflammatory: {script.asked.drug} starts on the day of discharge.",
            MADE_HERE,
        )


def other_nsaid_problem(script: Script, first_dose_at: dt.datetime) -> Iterator[Problem]:
    """A change of NSAID 24 h or less after the clinic's is for a vet to confirm."""
    last = last_nsaid_in_clinic(script.case, script.formulary)
    if (
        script.is_nsaid
        and last
        and last.drug != script.asked.drug
        and first_dose_at - last.at <= DAY
    ):
        yield script.problem(
            NEEDS_VET,
            "drug",
            f"The clinic gave {last.drug}; {script.asked.drug} would follow 24 hours or less after it.",
        )


def two_nsaids(scripts: Sequence[Script]) -> Mapping[str, Problem]:
    """By path: of two NSAIDs at home at once, the later in the list is refused."""
    nsaids = [script for script in scripts if script.is_nsaid]
    return {
        script.path: script.problem(
            REFUSED,
            "drug",
            f"{script.asked.drug} and {nsaids[0].asked.drug}: never two anti-inflammatories at once.",
        )
        for script in nsaids[1:]
    }
