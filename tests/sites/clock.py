"""The clock of a running site: its one row, written from outside as nothing in the program may."""

from __future__ import annotations

import datetime as dt
import sqlite3
from urllib.parse import urlsplit

import psycopg

SET = "INSERT INTO clinic_clockoffset (id, \"offset\") VALUES (1, {0}) ON CONFLICT (id) DO UPDATE SET \"offset\" = excluded.\"offset\""


def set_offset(database_url: str, offset: dt.timedelta) -> None:
    """How far the site's clock is ahead of its machine's."""
    if database_url.startswith("sqlite:"):
        with sqlite3.connect(urlsplit(database_url).path, timeout=20) as connection:
            connection.execute(SET.format("?"), (round(offset / dt.timedelta(microseconds=1)),))
        connection.close()
        return
    with psycopg.connect(database_url) as postgres:
        postgres.execute(SET.format("%s"), (offset,))
