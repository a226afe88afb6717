"""A compiled plan read back from the JSON that its row keeps."""

from __future__ import annotations

from decimal import Decimal

from followup.casefile.refusals import refuse
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
    Restriction,
    Review,
    WeightAlerts,
)
from followup.domain.reading import Table
from followup.domain.terms import CheckInKind, Form, HomeRoute, ProblemKind


def compiled_from_json(values: object) -> CompiledPlan:
    """The plan that `plan_json` wrote. Raises BadCase."""
    table = Table(values, "$", refuse)
    alerts, cover = table.table("weight_alerts_g"), table.table("analgesia_cover")
    return CompiledPlan(
        protocol=table.text("protocol"),
        medication=tuple(_medicine(each) for each in table.tables("medication")),
        feeding=_feeding(table.table("feeding")),
        weight_alerts=WeightAlerts(
            monitor=_amount(alerts, "monitor"),
            urgent=_amount(alerts, "urgent"),
            emergency=_optional(alerts, "emergency"),
        ),
        check_ins=tuple(_check_in(each) for each in table.tables("check_ins")),
        wound_reviews=tuple(
            Review(each.needed_whole("day"), each.moment("at")) for each in table.tables("wound_reviews")
        ),
        restrictions=tuple(
            Restriction(each.text("what"), each.moment("until")) for each in table.tables("restrictions")
        ),
        cover=Cover(
            intervals=tuple(
                CoverInterval(each.text("drug"), each.moment("from"), each.moment("to"))
                for each in cover.tables("intervals")
            ),
            gaps=tuple(Gap(each.moment("from"), each.moment("to")) for each in cover.tables("gaps")),
        ),
        sign_off_at=table.moment("sign_off_at"),
        problems=tuple(_problem(each) for each in table.tables("problems")),
    )


def _amount(table: Table, key: str) -> Decimal:
    return Decimal(str(table.needed_number(key)))


def _optional(table: Table, key: str) -> Decimal | None:
    """A number that may be null or absent."""
    if not table.has(key) or table.take(key) is None:
        return None
    return _amount(table, key)


def _medicine(table: Table) -> Medicine:
    return Medicine(
        drug=table.text("drug"),
        form=table.word("form", Form),
        route=table.word("route", HomeRoute),
        proposal=table.yes_no("proposal") or False,
        doses=tuple(_dose(each) for each in table.tables("doses")),
        mg_per_ml=table.decimal("mg_per_ml"),
        syringe_ml=table.decimal("syringe_ml"),
        graduation_ml=table.decimal("graduation_ml"),
        total_ml=table.decimal("total_ml"),
        total_tablets=table.decimal("total_tablets"),
        mg_per_tablet=table.decimal("mg_per_tablet"),
        is_nsaid=table.yes_no("is_nsaid") or False,
        every_hours=table.decimal("every_hours"),
        hard_limit_mg_per_kg_a_day=table.decimal("hard_limit_mg_per_kg_a_day"),
    )


def _dose(table: Table) -> PlannedDose:
    return PlannedDose(
        number=table.needed_whole("number", least=1),
        at=table.moment("at"),
        not_before=table.moment("not_before"),
        give_until=table.moment("give_until"),
        mg=table.decimal("mg"),
        ml=table.decimal("ml"),
        tablets=table.decimal("tablets"),
        fixed=table.text("fixed", ""),
        mg_per_kg_delivered=table.decimal("mg_per_kg_delivered"),
        rounding_error=table.decimal("rounding_error"),
    )


def _feeding(table: Table) -> Feeding:
    span = None
    if table.take("assisted_ml_per_day") is not None:
        inner = table.table("assisted_ml_per_day")
        span = (_amount(inner, "from"), _amount(inner, "to"))
    meals = _optional(table, "meals_per_day")
    return Feeding(
        resting_energy_kcal_per_day=_amount(table, "resting_energy_kcal_per_day"),
        assisted_ml_per_day=span,
        meals_per_day=None if meals is None else int(meals),
    )


def _check_in(table: Table) -> PlannedCheckIn:
    return PlannedCheckIn(
        at=table.moment("at"),
        answer_by=table.moment("answer_by"),
        kind=table.word("kind", CheckInKind),
        day=table.needed_whole("day"),
        questions=table.texts("questions"),
        photo=table.yes_no("photo") or False,
    )


def _problem(table: Table) -> Problem:
    return Problem(
        kind=table.word("kind", ProblemKind),
        path=table.text("path"),
        message=table.text("message"),
        source=table.text("source", ""),
    )
