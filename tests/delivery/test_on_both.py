"""Invariant 13: the same life on SQLite and on PostgreSQL comes to the same, and every invariant holds on both."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis.stateful import run_state_machine_as_test

from tests.command import ROOT
from tests.delivery.again import write_down
from tests.delivery.machine import Delivery
from tests.delivery.people import AUTUMN, everybody
from tests.examples import examples

STEPS = 10


@pytest.mark.postgres
@pytest.mark.django_db
def test_the_same_life_comes_to_the_same_on_both_databases(postgres_server, tmp_path, record_property):
    class Lives(Delivery):
        people = everybody(AUTUMN)
        lives = []

    run_state_machine_as_test(
        Lives,
        settings=settings(
            max_examples=examples(1),
            stateful_step_count=STEPS,
            phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
        ),
    )
    write_down(Lives.lives, tmp_path / "lives.json")
    with postgres_server.database("lives") as url:
        done = subprocess.run(
            [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "tests/delivery/again.py"],
            cwd=ROOT,
            env={
                **os.environ,
                "TEST_DATABASE": "postgres",
                "TEST_DATABASE_URL": url,
                "LIVES": str(tmp_path / "lives.json"),
            },
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            check=False,
            timeout=600,
        )
    assert done.returncode == 0, done.stdout[-10_000:]
    record_property("said", f"{len(Lives.lives)} lives came to the same on SQLite and PostgreSQL")
