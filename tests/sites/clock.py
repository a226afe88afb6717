"""The clock of a running site: its one row, written from outside as nothing in the program may."""

from __future__ import annotations

import datetime as dt
import sqlite3
from collections.abc import Mapping
from pathlib import Path
from urllib.parse import urlsplit

import psycopg
from psycopg import sql

SET = (
    'INSERT INTO clinic_clockoffset (id, "offset") VALUES (1, {0})'
    ' ON CONFLICT (id) DO UPDATE SET "offset" = excluded."offset"'
)

SHADOW = (
    "CREATE SCHEMA other_hour",
    (
        "CREATE FUNCTION other_hour.statement_timestamp() RETURNS timestamptz LANGUAGE sql STABLE AS"
        " $$ SELECT pg_catalog.statement_timestamp() + interval '{0} seconds' $$"
    ),
    # A schema that is named before it comes before it: what is built in is else found first.
    "ALTER DATABASE {1} SET search_path = public, other_hour, pg_catalog",
)
OTHER_HOUR = Path(__file__).parent / "other_hour"
DAY = dt.timedelta(days=1)


def machine_at(hour: int) -> dict[str, str]:
    """The environment of processes to which it is `hour` o'clock UTC on their machine, later today or tomorrow."""
    now = dt.datetime.now(dt.UTC)  # noqa: TID251 - the machine's clock, not the program's
    ahead = (now.replace(hour=hour, minute=0, second=0, microsecond=0) - now) % DAY
    return {"PYTHONPATH": str(OTHER_HOUR), "MACHINE_AHEAD": f"{ahead.total_seconds():.0f}"}


def put_database_ahead(database_url: str, machine: Mapping[str, str]) -> None:
    """To an empty PostgreSQL, too, the hour is the one of `machine_at`: the ticks go by the database's clock."""
    ahead = sql.SQL(machine.get("MACHINE_AHEAD", "0"))
    name = sql.Identifier(urlsplit(database_url).path.lstrip("/"))
    with psycopg.connect(database_url) as postgres:
        for statement in SHADOW:
            postgres.execute(sql.SQL(statement).format(ahead, name))


def set_offset(database_url: str, offset: dt.timedelta) -> None:
    """How far the site's clock is ahead of its machine's."""
    if database_url.startswith("sqlite:"):
        with sqlite3.connect(urlsplit(database_url).path, timeout=20) as connection:
            connection.execute(SET.format("?"), (round(offset / dt.timedelta(microseconds=1)),))
        connection.close()
        return
    with psycopg.connect(database_url) as postgres:
        postgres.execute(SET.format("%s"), (offset,))
