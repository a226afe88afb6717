"""What a message costs in the database is pinned: a query more for each is seen here before it is felt."""

from __future__ import annotations

import pytest
from django.db import connection

from tests.bench.delivery.costs import commits, cost


@pytest.mark.skipif(connection.vendor != "sqlite", reason="only there are transactions among the queries")
@pytest.mark.django_db(transaction=True)
def test_a_further_message_costs_fifteen_statements_and_three_commits():
    assert cost() == "15 statements and 3 commits a message"


def test_a_commit_is_a_transaction_that_wrote_or_a_statement_that_wrote_by_itself():
    assert commits(["BEGIN IMMEDIATE", "SELECT 1", "COMMIT"]) == 0
    assert commits(["BEGIN IMMEDIATE", "UPDATE a", "SAVEPOINT b", "INSERT c", "RELEASE SAVEPOINT b", "COMMIT"]) == 1
    assert commits(["UPDATE a", "SELECT 1", "INSERT b"]) == 2
