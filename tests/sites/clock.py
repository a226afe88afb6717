"""The clock of a running site: its one row, written from outside as nothing in the program may."""

from __future__ import annotations

import datetime as dt
import sqlite3
from pathlib import Path
from urllib.parse import urlsplit

import psycopg

SET = (
    'INSERT INTO clinic_clockoffset (id, "offset") VALUES (1, {0})'
    ' ON CONFLICT (id) DO UPDATE SET "offset" = excluded."offset"'
)


OTHER_HOUR = Path(__file__).parent / "other_hour"
DAY = dt.timedelta(days=1)


def machine_at(hour: int) -> dict[str, str]:
    """The environment of processes to which it is `hour` o'clock UTC on their machine, later today or tomorrow."""
    now = dt.datetime.now(dt.UTC)  # noqa: TID251 - the machine's clock, not the program's
    ahead = (now.replace(hour=hour, minute=0, second=0, microsecond=0) - now) % DAY
    return {"PYTHONPATH": str(OTHER_HOUR), "MACHINE_AHEAD": f"{ahead.total_seconds():.0f}"}


def set_offset(database_url: str, offset: dt.timedelta) -> None:
    """How far the site's clock is ahead of its machine's."""
    if database_url.startswith("sqlite:"):
        with sqlite3.connect(urlsplit(database_url).path, timeout=20) as connection:
            connection.execute(SET.format("?"), (round(offset / dt.timedelta(microseconds=1)),))
        connection.close()
        return
    with psycopg.connect(database_url) as postgres:
        postgres.execute(SET.format("%s"), (offset,))
