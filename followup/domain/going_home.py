"""What must be seen before a patient goes home, and the plan's figures for feeding and weight.

Source: clinical defaults, 3, 8, 9 and 14; the values are the protocol's.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal, localcontext

from followup.domain.case import Case
from followup.domain.compiled import Feeding, Problem, WeightAlerts
from followup.domain.course import Course, DailyNeed, FeedingFigures, FitToGo, StitchDays, WeightBands
from followup.domain.exact import GRAMS_PER_KG, decimal, exact
from followup.domain.terms import ProblemKind

RESTING = Decimal(70)
POWER = Decimal("0.75")
"""Resting energy = 70 x kg^0.75 kcal a day. Source:

Small Animal Clinical Nutrition, 5th ed., table 5-2 (P).
"""

TENTH = Decimal("0.1")
PRECISION = 28


def home_problems(case: Case, course: Course, *, nsaid_at_home: bool) -> Iterator[Problem]:
    """What a vet must confirm about the patient itself."""
    fit = course.fit_to_go
    yield from _weight(case, fit)
    yield from _temperature(case, fit)
    if fit.eaten:
        yield from _eaten(case, fit, nsaid_at_home=nsaid_at_home)
    if course.stitches is not None:
        yield from _stitches(case, course.stitches)


def resting_energy(weight_g: float) -> Decimal:
    """kcal a day, to a tenth."""
    with localcontext(prec=PRECISION):
        return (RESTING * (Decimal(str(weight_g)) / GRAMS_PER_KG) ** POWER).quantize(TENTH)


def feeding_of(weight_g: float, figures: FeedingFigures) -> Feeding:
    """Energy, and the range of recovery feed for the vet."""
    kg = exact(weight_g) / GRAMS_PER_KG
    span = figures.assisted_ml_per_kg
    return Feeding(
        resting_energy_kcal_per_day=resting_energy(weight_g),
        assisted_ml_per_day=None
        if span is None
        else (decimal(kg * exact(span[0]), TENTH), decimal(kg * exact(span[1]), TENTH)),
        meals_per_day=figures.meals_per_day,
    )


def weight_alerts(weight_g: float, bands: WeightBands) -> WeightAlerts:
    """Grams at or below which each level is reached."""
    grams = exact(weight_g)

    def left(share: Decimal) -> Decimal:
        return decimal(grams * (1 - exact(share)))

    return WeightAlerts(
        monitor=left(bands.monitor),
        urgent=left(bands.urgent),
        emergency=None if bands.emergency is None else left(bands.emergency),
    )


def a_day(weight_g: float, need: DailyNeed) -> tuple[Decimal, Decimal]:
    """From and to, for this body weight."""
    kg = exact(weight_g) / GRAMS_PER_KG
    return decimal(kg * exact(need.per_kg[0]), TENTH), decimal(kg * exact(need.per_kg[1]), TENTH)


def _stitches(case: Case, usual: StitchDays) -> Iterator[Problem]:
    out = case.discharge.stitches_out_on
    if out is not None and not usual.first <= (out - case.day_0).days <= usual.last:
        yield Problem(
            ProblemKind.WARNING,
            "$.discharge.stitches_out_on",
            f"Stitches out on day {(out - case.day_0).days}: usual is day {usual.first} to {usual.last}.",
            usual.source.text,
        )


def _weight(case: Case, fit: FitToGo) -> Iterator[Problem]:
    low, high = fit.weight_g
    if not exact(low) <= exact(case.patient.weight_g) <= exact(high):
        yield Problem(
            ProblemKind.NEEDS_VET,
            "$.patient.weight_g",
            f"{case.patient.weight_g:g} g is outside {low:f} to {high:f} g for this species: "
            "is it in grams, and was it read correctly?",
            fit.weight_source.text,
        )


def _temperature(case: Case, fit: FitToGo) -> Iterator[Problem]:
    seen, least = case.discharge.temperature_c, fit.least_temperature_c
    if seen is not None and least is not None and exact(seen) < exact(least):
        yield Problem(
            ProblemKind.NEEDS_VET,
            "$.discharge.temperature_c",
            f"{seen:g} °C at discharge is below {least:f} °C.",
            fit.temperature_source.text,
        )


def _eaten(case: Case, fit: FitToGo, *, nsaid_at_home: bool) -> Iterator[Problem]:
    source = fit.eaten_source.text if fit.eaten_source is not None else ""
    ate = case.last_ate_before_discharge_at
    if ate is None or ate < case.surgery_ended_at:
        yield Problem(
            ProblemKind.NEEDS_VET,
            "$.last_ate_before_discharge_at",
            "It is not known to have eaten since surgery.",
            source,
        )
    if nsaid_at_home and case.discharge.appetite == "none":
        yield Problem(
            ProblemKind.NEEDS_VET,
            "$.discharge.appetite",
            "It ate nothing in recovery: an anti-inflammatory at home only when a vet confirms it.",
            source,
        )
