"""A compiled plan as JSON: what `manage.py plan` prints and what a plan's row keeps."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from zoneinfo import ZoneInfo

from followup.casefile.refusals import moment_json
from followup.domain.compiled import (
    CompiledPlan,
    Cover,
    CoverInterval,
    Feeding,
    Gap,
    Medicine,
    PlannedCheckIn,
    PlannedDose,
    Problem,
)

Json = dict[str, object]


def plan_json(plan: CompiledPlan, zone: ZoneInfo) -> Json:
    """The plan with times in the owner's zone. `compiled_from_json` reads it back the same."""
    alerts = plan.weight_alerts
    return {
        "protocol": plan.protocol,
        "medication": [_medicine(each, zone) for each in plan.medication],
        "feeding": _feeding(plan.feeding),
        "weight_alerts_g": {
            "monitor": _number(alerts.monitor),
            "urgent": _number(alerts.urgent),
            "emergency": _number(alerts.emergency),
        },
        "check_ins": [_check_in(each, zone) for each in plan.check_ins],
        "wound_reviews": [{"day": each.day, "at": moment_json(each.at, zone)} for each in plan.wound_reviews],
        "restrictions": [{"what": each.what, "until": moment_json(each.until, zone)} for each in plan.restrictions],
        "analgesia_cover": _cover(plan.cover, zone),
        "sign_off_at": moment_json(plan.sign_off_at, zone),
        "problems": [_problem(each) for each in plan.problems],
    }


def _number(value: Decimal | None) -> int | float | None:
    """A JSON number; whole ones without a point."""
    if value is None:
        return None
    return int(value) if value == value.to_integral_value() else float(value)


def _known(values: Mapping[str, object]) -> Json:
    return {key: value for key, value in values.items() if value is not None}


def _medicine(each: Medicine, zone: ZoneInfo) -> Json:
    return _known(
        {
            "drug": each.drug,
            "form": each.form.value,
            "route": each.route.value,
            "proposal": each.proposal,
            "mg_per_ml": _number(each.mg_per_ml),
            "syringe_ml": _number(each.syringe_ml),
            "graduation_ml": _number(each.graduation_ml),
            "mg_per_tablet": _number(each.mg_per_tablet),
            "is_nsaid": each.is_nsaid,
            "every_hours": _number(each.every_hours),
            "hard_limit_mg_per_kg_a_day": _number(each.hard_limit_mg_per_kg_a_day),
            "doses": [_dose(dose, zone) for dose in each.doses],
            "total_ml": _number(each.total_ml),
            "total_tablets": _number(each.total_tablets),
        }
    )


def _dose(dose: PlannedDose, zone: ZoneInfo) -> Json:
    return _known(
        {
            "number": dose.number,
            "at": moment_json(dose.at, zone),
            "not_before": moment_json(dose.not_before, zone),
            "give_until": moment_json(dose.give_until, zone),
            "mg": _number(dose.mg),
            "ml": _number(dose.ml),
            "tablets": _number(dose.tablets),
            "fixed": dose.fixed or None,
            "mg_per_kg_delivered": _number(dose.mg_per_kg_delivered),
            "rounding_error": _number(dose.rounding_error),
        }
    )


def _feeding(feeding: Feeding) -> Json:
    span = feeding.assisted_ml_per_day
    return {
        "resting_energy_kcal_per_day": _number(feeding.resting_energy_kcal_per_day),
        "assisted_ml_per_day": None if span is None else {"from": _number(span[0]), "to": _number(span[1])},
        "meals_per_day": feeding.meals_per_day,
    }


def _check_in(each: PlannedCheckIn, zone: ZoneInfo) -> Json:
    return {
        "at": moment_json(each.at, zone),
        "answer_by": moment_json(each.answer_by, zone),
        "kind": each.kind.value,
        "day": each.day,
        "questions": list(each.questions),
        "photo": each.photo,
    }


def _cover(cover: Cover, zone: ZoneInfo) -> Json:
    def span(each: CoverInterval | Gap) -> Json:
        return {"from": moment_json(each.starts, zone), "to": moment_json(each.ends, zone)}

    return {
        "intervals": [{"drug": each.drug, **span(each)} for each in cover.intervals],
        "gaps": [span(each) for each in cover.gaps],
    }


def _problem(each: Problem) -> Json:
    found: Json = {"kind": each.kind.value, "path": each.path, "message": each.message}
    return found | ({"source": each.source} if each.source else {})
