"""A tick finds what is due by an index: what is stored and over must not make it slower."""

from __future__ import annotations

import re
from collections.abc import Iterable

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

    assert len(asked) > 30
    assert walks_in(query["sql"] for query in asked) == set()


def test_a_walk_through_a_table_is_seen():
    walking = 'SELECT * FROM "followup_reply" %s WHERE "state" = \'understood\''

    for name in ("", "U0"):  # Django's own name of a table within another query
        assert walks_in([walking % name]) == {"followup_reply"}


def walks_in(queries: Iterable[str]) -> set[str]:
    """The tables that grow and that a query goes through from end to end; through an index of a few rows it may."""
    return {table for sql in queries for table in _walked(sql)}


def _walked(sql: str) -> set[str]:
    """Where two tables share one of Django's names, only what would be wrong for both is said."""
    named: dict[str, list[str]] = {}
    for table, alias in re.findall(r'"(\w+)" (U\d+)\b', sql):
        named.setdefault(alias, []).append(table)
    whole = [step.split()[1] for step in _steps_of(sql) if step.startswith("SCAN ") and len(step.split()) == 2]
    return {tables[0] for name in whole if all(map(_grows, tables := named.get(name, [name])))}


def _grows(table: str) -> bool:
    return table.removeprefix("followup_") in GROWS


def _steps_of(sql: str) -> list[str]:
    if not sql.startswith(("SELECT", "UPDATE", "DELETE")):
        return []
    with connection.cursor() as cursor:
        cursor.execute(f"EXPLAIN QUERY PLAN {sql}")
        return [row[3] for row in cursor.fetchall()]
