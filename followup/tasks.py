"""What Celery runs: one line each, safe to run twice."""

from __future__ import annotations

from celery import shared_task

from clinic import clock
from followup.services import tick as ticking
from followup.services.lanes import side_by_side


@shared_task(name="followup.tasks.tick", ignore_result=True)
def tick() -> None:
    """Every 15 seconds, from Beat. Losing one costs 15 seconds."""
    ticking.tick(now=clock.for_the_tick(), spread=side_by_side, off_by=clock.off_by(), moved_on=clock.moved_on())
