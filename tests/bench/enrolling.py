"""The enrolment page: to open, to look at the plan, to confirm; with queries, while the practice grows."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from typing import Any

from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from clinic.models import Role
from tests import world
from tests.bench.measuring import measure
from tests.owner_world import move_clock
from tests.web.enrol_form import ADDRESS, filled
from tests.world import at

_number = itertools.count()


def enrolled() -> None:
    """Print it."""
    move_clock(at("17:00"))
    desk = Client()
    desk.force_login(world.staff(world.practice(), Role.FRONT_DESK))
    steps: dict[str, Callable[[], Any]] = {
        "open": lambda: desk.get(ADDRESS),
        "look at the plan": lambda: desk.post(ADDRESS, _typed("preview")),
        "confirm": lambda: desk.post(ADDRESS, _typed("confirm")),
    }
    for name, step in steps.items():
        with CaptureQueriesContext(connection) as asked:
            answer = step()
        assert answer.status_code == (302 if name == "confirm" else 200), answer.status_code
        print(f"enrol, {name:17} {len(asked):3} queries   {measure(step, times=60)}")


def _typed(action: str) -> dict[str, object]:
    """Another owner with another patient each time."""
    number = next(_number)
    owner = {"owner__name": f"Robin Bench {number}", "owner__email": f"bench{number}@example.org"}
    return filled(action=action, key=f"bench {number}", **owner)
