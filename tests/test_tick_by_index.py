"""A tick finds what is due by an index: what is stored and over must not make it slower."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from followup.models import Plan
from followup.services.tick import tick
from tests import world
from tests.world import at

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(connection.vendor != "sqlite", reason="PostgreSQL chooses by how full a table is"),
]
GROWS = ("plan", "reply", "observation", "message", "checkin", "dose", "flag", "verdict", "event", "task", "notice")


def test_no_query_of_a_tick_walks_through_a_table_that_grows():
    world.running_plan()
    tick(now=at("17:30"))
    Plan.objects.update(look_again_at=at("18:30"))

    with CaptureQueriesContext(connection) as asked:
        tick(now=at("18:30"))  # a plan to look at, a question to ask, a message to send
    walks = {step for query in asked for step in steps_of(query["sql"])}
    tables = {f"SCAN followup_{name}" for name in GROWS}

    assert len(asked) > 30
    assert walks & tables == set()


def test_a_walk_through_a_table_is_seen():
    assert "SCAN followup_reply" in steps_of('SELECT * FROM "followup_reply" WHERE "state" = \'understood\'')


def steps_of(sql: str) -> list[str]:
    if not sql.startswith(("SELECT", "UPDATE", "DELETE")):
        return []
    with connection.cursor() as cursor:
        cursor.execute(f"EXPLAIN QUERY PLAN {sql}")
        return [row[3] for row in cursor.fetchall()]
