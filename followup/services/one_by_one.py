"""Taking one step for many rows, so that one bad row never stops the others: it becomes a task for a person."""

from __future__ import annotations

import datetime as dt
import logging
from collections.abc import Callable, Iterable, Sequence
from typing import TypeVar

from django.db import transaction

from followup.models import Plan, Task
from followup.services.faults import write_down
from followup.services.log import log

logger = logging.getLogger(__name__)

LATER = dt.timedelta(minutes=15)
"""When a plan that could not be judged is looked at again: a fault may pass, and must not be tried at every tick."""


Row = TypeVar("Row")


def one_by_one(
    rows: Iterable[Row], step: Callable[[Row], object], plans_of: Callable[[Row], Sequence[Plan]], *, now: dt.datetime
) -> None:
    """Take `step` for each row, each in a transaction of its own."""
    for row in rows:
        try:
            with transaction.atomic():
                step(row)
        except Exception as fault:  # noqa: BLE001 - one bad row never stops the others
            write_down(logger, f"one {type(row).__name__} could not be dealt with", fault)
            for plan in plans_of(row):
                _call_a_person(plan, now=now)


@transaction.atomic
def _call_a_person(plan: Plan, *, now: dt.datetime) -> None:
    Plan.objects.filter(pk=plan.pk, look_again_at__lte=now).update(look_again_at=now + LATER)
    _, made = Task.objects.get_or_create(
        practice_id=plan.practice_id,
        key=f"look:{plan.pk}:{now:%Y-%m-%d}",
        defaults={
            "plan": plan,
            "kind": Task.Kind.LOOK,
            "text": "The program could not judge or ask about this patient by itself: please look.",
            "due_at": now,
            "made_at": now,
        },
    )
    if made:
        log(plan, "needs_a_person", "triage or a message failed", now=now)
