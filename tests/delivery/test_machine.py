"""Whatever people do and whatever breaks: nothing is lost, nothing wakes anybody, nothing goes out twice."""

from __future__ import annotations

import pytest
from hypothesis import settings
from hypothesis.stateful import run_state_machine_as_test

from tests.delivery.machine import Delivery
from tests.delivery.people import AUTUMN, SPRING, everybody
from tests.examples import examples

STEPS = 25


@pytest.mark.django_db
@pytest.mark.parametrize("day", [SPRING, AUTUMN], ids=["clocks go forward", "clocks go back"])
def test_any_life_of_two_practices(day):
    class Lives(Delivery):
        people = everybody(day)
        lives = []

    run_state_machine_as_test(Lives, settings=settings(max_examples=examples(8), stateful_step_count=STEPS))
