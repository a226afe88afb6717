"""A protocol's plan part, from TOML tables to a Course."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

from followup.domain.course import (
    AnswerWithin,
    AskOn,
    Course,
    DailyNeed,
    FeedingFigures,
    FitToGo,
    QuestionSet,
    RestrictionRule,
    StitchDays,
    WeightBands,
)
from followup.domain.reading import Table
from followup.domain.terms import CheckInKind, Closure
from followup.protocols.refusals import source_of

RESTRICTIONS = frozenset(
    {
        "kept_apart_from_entire_females",
        "no_bathing",
        "lead_only",
        "indoors",
        "soft_bedding",
        "protect_wound",
    }
)
"""The words of the compiled plan's format."""


def parse_course(tables: Table) -> Course:
    """The course, whole; raises the refusal that `tables` carries."""
    schedule, reviews, order = (
        tables.table("schedule"),
        tables.table("reviews"),
        tables.table("order"),
    )
    sets = tuple(_question_set(each) for each in tables.tables("questions"))
    course = Course(
        asks=tuple(_ask(each) for each in schedule.tables("ask")),
        asks_source=source_of(schedule),
        question_sets=sets,
        question_order=order.texts("questions"),
        answer_within=_answer_within(tables.table("answer_within")),
        review_days=tuple(int(each) for each in reviews.decimals("days")),
        sign_off_day=reviews.needed_whole("sign_off_day", least=1),
        reviews_source=source_of(reviews),
        restrictions=tuple(_restriction(each) for each in tables.tables("restriction")),
        feeding=_feeding(tables.table("feeding")),
        weight_bands=_weight_bands(tables.table("weight_bands")),
        fit_to_go=_fit_to_go(tables),
        daily_needs=tuple(_daily_need(each) for each in tables.tables("daily_need")),
        stitches=_stitches(tables.table("stitches")) if tables.has("stitches") else None,
    )
    for each in (schedule, reviews, order):
        each.done()
    if not course.asks:
        raise schedule.wrong("ask", "lists no check-in")
    _refuse_unordered(course, order)
    return course


def _refuse_unordered(course: Course, order: Table) -> None:
    """Every question that can be asked has its place."""
    for each in course.question_sets:
        for question in each.questions:
            if question not in course.question_order:
                raise order.wrong("questions", f"does not say where {question!r} of {each.code!r} comes")


def _ask(table: Table) -> AskOn:
    found = AskOn(
        day=table.needed_whole("day"),
        kind=table.word("kind", CheckInKind),
        photo=table.yes_no("photo") or False,
    )
    table.done()
    return found


def _question_set(table: Table) -> QuestionSet:
    found = QuestionSet(
        code=table.text("code"),
        questions=table.texts("questions"),
        source=source_of(table),
        days=frozenset(int(each) for each in table.decimals("days")),
        kinds=frozenset(table.words("kinds", CheckInKind)),
        first_at_home=table.yes_no("first_at_home") or False,
        home_scales=table.yes_no("home_scales") or False,
        ring_not_closed=table.yes_no("ring_not_closed") or False,
        closures=frozenset(table.words("closures", Closure)),
        unless_closures=frozenset(table.words("unless_closures", Closure)),
        instead_of=table.texts("instead_of"),
    )
    table.done()
    return found


def _answer_within(table: Table) -> AnswerWithin:
    found = AnswerWithin(
        early=_hours(table, "early_hours"),
        early_until=_hours(table, "early_until_hours"),
        later=_hours(table, "later_hours"),
        source=source_of(table),
    )
    table.done()
    return found


def _hours(table: Table, key: str) -> dt.timedelta:
    return dt.timedelta(hours=table.needed_number(key, above=0))


def _restriction(table: Table) -> RestrictionRule:
    what = table.text("code")
    if what not in RESTRICTIONS:
        raise table.wrong("code", f"must be one of {', '.join(sorted(RESTRICTIONS))}")
    found = RestrictionRule(what, table.needed_whole("days", least=1), source_of(table))
    table.done()
    return found


def _pair(table: Table, key: str) -> tuple[Decimal, Decimal]:
    found = table.decimals(key)
    if len(found) != 2 or not Decimal(0) < found[0] <= found[1]:  # noqa: PLR2004  # from, to
        raise table.wrong(key, "must be two numbers, the smaller first")
    return found[0], found[1]


def _feeding(table: Table) -> FeedingFigures:
    has = table.has("ml_per_kg_per_day")
    found = FeedingFigures(
        assisted_ml_per_kg=_pair(table, "ml_per_kg_per_day") if has else None,
        meals_per_day=table.whole("meals_per_day", least=1),
        source=source_of(table),
    )
    table.done()
    return found


def _daily_need(table: Table) -> DailyNeed:
    found = DailyNeed(table.text("code"), table.text("unit"), _pair(table, "per_kg"), source_of(table))
    table.done()
    return found


def _stitches(table: Table) -> StitchDays:
    first, last = _pair(table, "days")
    found = StitchDays(int(first), int(last), source_of(table))
    table.done()
    return found


def _share(table: Table, key: str) -> Decimal:
    found = Decimal(str(table.needed_number(key, above=0)))
    if found >= 1:
        raise table.wrong(key, "must be a share below 1, such as 0.05")
    return found


def _weight_bands(table: Table) -> WeightBands:
    found = WeightBands(
        monitor=_share(table, "monitor"),
        urgent=_share(table, "urgent"),
        emergency=_share(table, "emergency") if table.has("emergency") else None,
        source=source_of(table),
    )
    table.done()
    if not found.monitor < found.urgent < (found.emergency or Decimal(1)):
        raise table.wrong("urgent", "must lie between monitor and emergency")
    return found


def _fit_to_go(tables: Table) -> FitToGo:
    weight, warm, eaten = (tables.table(key) for key in ("plausible_weight", "temperature", "eaten"))
    found = FitToGo(
        weight_g=_pair(weight, "grams"),
        weight_source=source_of(weight),
        least_temperature_c=warm.decimal("least_c"),
        temperature_source=source_of(warm),
        eaten=eaten.yes_no("needed") or False,
        eaten_source=source_of(eaten) if eaten.has("source") else None,
    )
    for each in (weight, warm, eaten):
        each.done()
    return found
