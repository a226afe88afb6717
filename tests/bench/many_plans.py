"""One tick with twenty plans to be looked at, among a hundred, ten thousand and a hundred thousand running ones."""

from __future__ import annotations

import datetime as dt
import time
from collections.abc import Callable
from functools import partial

from django.db import connection
from django.test.utils import CaptureQueriesContext

from clinic.models import Patient
from followup.domain.terms import Concern, Level
from followup.models import CheckIn, Dose, Flag, Message, Plan, Reply
from followup.services.tick import tick
from tests import world
from tests.bench.measuring import Measured, measure
from tests.bench.rows import like
from tests.world import at

SIZES = (100, 10_000, 100_000)
DUE = 20
NOW = at("17:30")
"""An hour after the guinea pig went home: nobody is silent yet, and nothing is asked."""
DAY = dt.timedelta(days=1)
AT_ONCE = 1000


def among_many() -> None:
    """Print it."""
    first = world.running_plan()
    stored = 1
    for size in SIZES:
        for begun in range(stored, size, AT_ONCE):
            _store(first, range(begun, min(begun + AT_ONCE, size)))
        stored = size
        due = list(Plan.objects.order_by("pk").values_list("pk", flat=True)[:DUE])
        _make_due(due)
        tick(now=NOW)  # a plan's first verdict is written down, and those that say the same are not
        _make_due(due)
        with CaptureQueriesContext(connection) as asked:
            tick(now=NOW)
        looked_at = Plan.objects.filter(assessed_at=NOW, look_again_at__gt=NOW).count()
        spent = measure(lambda: tick(now=NOW), before=partial(_make_due, due), times=15)
        in_sql = Measured(tuple(_in_statements(due) for _ in range(15)))
        print(f"tick, {looked_at} due of {size:6} running plans: {len(asked):4} queries   {spent}")
        print(f"      in the database's statements, commits left out:     {in_sql}")


def _in_statements(due: list[int]) -> float:
    """Milliseconds of one tick that were spent in statements: what an index can change."""
    spent = 0.0

    def timed(execute: Callable[..., object], *statement: object) -> object:
        nonlocal spent
        begun = time.perf_counter()
        try:
            return execute(*statement)
        finally:
            spent += (time.perf_counter() - begun) * 1000

    _make_due(due)
    with connection.execute_wrapper(timed):
        tick(now=NOW)
    return spent


def _make_due(plans: list[int]) -> None:
    Plan.objects.filter(pk__in=plans).update(look_again_at=NOW)


def _store(first: Plan, numbers: range) -> None:
    """Running plans like the enrolled one, each of a patient of its own, with what one meets in its first days."""
    patients = Patient.objects.bulk_create(like(first.patient, name=f"Pip {number}") for number in numbers)
    plans = Plan.objects.bulk_create(like(first, patient=each, look_again_at=NOW + DAY) for each in patients)
    check_in, dose, message = first.check_ins.earliest("at"), first.doses.earliest("at"), first.messages.earliest("pk")
    CheckIn.objects.bulk_create(like(check_in, plan=each, at=NOW + DAY, answer_by=NOW + 2 * DAY) for each in plans)
    Dose.objects.bulk_create(like(dose, plan=each) for each in plans)
    Message.objects.bulk_create(like(message, plan=each, key=f"{message.key}:{each.pk}") for each in plans)
    Reply.objects.bulk_create(_reply(each) for each in plans)
    Flag.objects.bulk_create(_flag(each) for each in plans)


def _reply(plan: Plan) -> Reply:
    """One that has been understood."""
    return Reply(
        practice_id=plan.practice_id,
        plan=plan,
        client_id=f"of plan {plan.pk}",
        raw={"answers": {"appetite": ["less"], "faeces": ["fewer"], "demeanour": ["quiet"], "worried": ["no"]}},
        received_at=NOW - DAY,
        state=Reply.State.UNDERSTOOD,
    )


def _flag(plan: Plan) -> Flag:
    """One that a good answer has settled."""
    level = Level.MONITOR.value
    return Flag(
        practice_id=plan.practice_id, plan=plan, concern=Concern.EATING, level=level, worst=level,
        because="eats less than usual", opened_at=NOW - DAY, raised_at=NOW - DAY, updated_at=NOW,
        state=Flag.State.SETTLED,
    )  # fmt: skip
