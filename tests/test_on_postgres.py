"""Once more on PostgreSQL, in the same run: claims, locks, constraints, JSON, pages; and the migrations on both."""

from __future__ import annotations

import os
import re
import subprocess
import sys

import pytest

from tests.command import ROOT, manage

ONCE_MORE = (
    "tests/services",
    "tests/delivery",
    "tests/web/test_awkward_text.py",
    "tests/web/test_alert_link.py",
    "tests/web/test_owner_page.py",
    "tests/test_practice_command.py",
)
"""What reads and writes the database."""


@pytest.mark.minutes
@pytest.mark.postgres
def test_what_uses_the_database_holds_on_postgresql(postgres_server, record_property):
    with postgres_server.database("once_more") as url:
        done = subprocess.run(
            [sys.executable, "-m", "pytest", "-q", "-n", "2", "-p", "no:cacheprovider", *ONCE_MORE],
            cwd=ROOT,
            env={**os.environ, "TEST_DATABASE": "postgres", "TEST_DATABASE_URL": url, "REQUIRE": "postgres"},
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            check=False,
            timeout=900,
        )
    assert done.returncode == 0, done.stdout[-20_000:]
    passed = re.search(r"^(\d+) passed(.*)$", done.stdout, re.M)
    assert passed
    assert int(passed[1]) > 300
    record_property("said", f"once more on PostgreSQL: {passed[0]}")


@pytest.fixture(params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def empty_database(request, tmp_path):
    """The URL of a database without a table."""
    if request.param == "sqlite":
        yield f"sqlite:///{tmp_path / 'empty.sqlite3'}"
        return
    with request.getfixturevalue("postgres_server").database("migrated") as url:
        yield url


def test_the_migrations_run_forwards_and_back(empty_database, tmp_path):
    def migrate(*arguments: str) -> str:
        done = manage("migrate", "--no-color", *arguments, folder=tmp_path, DATABASE_URL=empty_database)
        assert done.returncode == 0, done.stderr
        return done.stdout

    assert "Applying followup.0001_initial... OK" in migrate()
    migrate("followup", "zero")
    assert "Unapplying clinic.0001_initial... OK" in migrate("clinic", "zero")
    assert "Applying followup.0001_initial... OK" in migrate()
    assert "No migrations to apply" in migrate()
