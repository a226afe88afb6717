"""Whatever people do and whatever breaks: nothing is lost, nothing wakes anybody, nothing goes out twice."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis.stateful import run_state_machine_as_test

from tests.delivery.machine import Delivery
from tests.delivery.people import AUTUMN, SPRING, everybody
from tests.examples import TIMES, examples

STEPS = 12
SHORTER = {Phase.shrink} if TIMES > 1 else set()
"""A life takes seconds: it is made shorter only where many are tried. What was done is printed in any case."""


@pytest.mark.django_db
@pytest.mark.parametrize("day", [SPRING, AUTUMN], ids=["clocks go forward", "clocks go back"])
def test_any_life_of_two_practices(day):
    class Lives(Delivery):
        people = everybody(day)

    run_state_machine_as_test(
        Lives,
        settings=settings(
            max_examples=examples(2),
            stateful_step_count=STEPS,
            phases={Phase.generate} | SHORTER,
            suppress_health_check=list(HealthCheck),
        ),
    )
