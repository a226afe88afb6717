"""Lives lived again, on whichever database this run has. `LIVES` names the file; run by `test_on_both.py` alone."""

from __future__ import annotations

import json
import os
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from tests.delivery.final import differences
from tests.delivery.invariants import wrong_now
from tests.delivery.life import Command, Life
from tests.delivery.people import AUTUMN, People, everybody


def write_down(lives: Sequence[Life], file: Path) -> None:
    """What was done in each, and what it came to."""
    told = [{"commands": each.commands, "came_to": each.came_to} for each in lives]
    file.write_text(json.dumps(told), encoding="utf-8")


def live(people: People, commands: Sequence[Command]) -> dict[str, Any]:
    """What these commands come to, with every invariant after each of them."""
    life = Life(people)
    with life.lived():
        for name, arguments in commands:
            life.do(name, **arguments)
            found = "\n".join(wrong_now(life))
            assert not found, f"after {life.commands}\n{found}"
        came_to: dict[str, Any] = json.loads(json.dumps(life.final()))
        return came_to


@pytest.mark.django_db
def test_lives_that_were_lived_on_another_database():
    people = everybody(AUTUMN)
    for each in json.loads(Path(os.environ["LIVES"]).read_text(encoding="utf-8")):
        here, there = live(people, each["commands"]), each["came_to"]
        found = differences(there["stored"], here["stored"])
        assert not found, f"after {each['commands']}\n{found}"
        assert here == there, each["commands"]
