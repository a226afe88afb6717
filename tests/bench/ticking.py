"""One tick with nothing due, while what is stored grows: its cost follows what is due."""

from __future__ import annotations

import datetime as dt

from django.db import connection
from django.test.utils import CaptureQueriesContext

from followup.models import CheckIn, Dose, Plan
from followup.services.tick import tick
from tests import world
from tests.bench.measuring import measure
from tests.world import at

DAY = dt.timedelta(days=1)
NOW = at("12:00", day=3)


def ticked() -> None:
    """Print it."""
    plan = world.running_plan()
    CheckIn.objects.all().delete()
    Dose.objects.all().delete()
    tick(now=NOW)
    Plan.objects.update(look_again_at=None)
    stored = 0
    for more in (100, 9_900, 40_000):
        _store(plan, stored, more)
        stored += more
        with CaptureQueriesContext(connection) as asked:
            tick(now=NOW)
        print(f"tick, nothing due, {stored:6} doses and {stored:6} check-ins to come: {len(asked):3} queries   "
              f"{measure(lambda: tick(now=NOW), times=30)}")  # fmt: skip


def _store(plan: Plan, begun: int, more: int) -> None:
    """Doses and check-ins of the coming years: of one plan, since the tick asks for rows and not for plans."""
    moments = [NOW + DAY + dt.timedelta(minutes=index) for index in range(begun, begun + more)]
    Dose.objects.bulk_create(
        Dose(practice=plan.practice, plan=plan, drug=f"d{index}", number=1, at=moment, not_before=moment,
             give_until=moment + DAY, amount="0.1 ml")
        for index, moment in enumerate(moments, start=begun)
    )  # fmt: skip
    CheckIn.objects.bulk_create(
        CheckIn(practice=plan.practice, plan=plan, kind="evening", day=1, at=moment, answer_by=moment + DAY)
        for moment in moments
    )
