"""The bare limit: an outbox in plain SQL with a lease and a log of tries, and smtplib. As many commits as ours makes.

`python -m tests.bench.delivery.bare queue NUMBER`, then `… send` in as many processes as there are to be.
"""

from __future__ import annotations

import os
import sqlite3
import sys
import time
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Protocol
from urllib.parse import urlsplit

import psycopg

from tests.bench.delivery.mailing import hand_in

LEASE = 90
"""Seconds."""
TABLES = (
    (
        "CREATE TABLE letter (id INTEGER PRIMARY KEY, state TEXT NOT NULL, not_before DOUBLE PRECISION NOT NULL,"
        " token TEXT, until DOUBLE PRECISION, begun_at DOUBLE PRECISION, sent_at DOUBLE PRECISION)"
    ),
    "CREATE INDEX letter_due ON letter (not_before, id) WHERE state = 'ready'",
    (
        "CREATE TABLE try (letter INTEGER NOT NULL, token TEXT NOT NULL, began DOUBLE PRECISION NOT NULL,"
        " ended DOUBLE PRECISION, outcome TEXT, PRIMARY KEY (letter, token))"
    ),
)
CLAIM = (
    "UPDATE letter SET state = 'leased', token = ?, until = ? WHERE id = (SELECT id FROM letter"
    " WHERE state = 'ready' AND not_before <= ? ORDER BY not_before, id LIMIT 1{lock}) RETURNING id"
)
BEGIN = "UPDATE letter SET begun_at = ? WHERE id = ? AND token = ?"
BEGIN_TRY = "INSERT INTO try (letter, token, began) VALUES (?, ?, ?)"
RECORD = "UPDATE letter SET state = 'sent', sent_at = ?, token = NULL, until = NULL WHERE id = ? AND token = ?"
RECORD_TRY = "UPDATE try SET ended = ?, outcome = 'ok' WHERE letter = ? AND token = ?"


class Store(Protocol):
    """A database, by one connection. A statement outside of a transaction is one by itself."""

    lock: str

    def run(self, statement: str, *values: object) -> Any:
        """Run it, with `?` for each value; its cursor."""

    def transaction(self) -> Any:
        """Everything in the block is one commit."""


class Lite:
    """SQLite as the program opens it."""

    lock = ""

    def __init__(self, url: str) -> None:
        """Open the file."""
        self.connection = sqlite3.connect(urlsplit(url).path, timeout=20, isolation_level=None)
        for each in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON"):
            self.connection.execute(f"PRAGMA {each}")

    def run(self, statement: str, *values: object) -> sqlite3.Cursor:
        """Run it."""
        return self.connection.execute(statement, values)

    @contextmanager
    def transaction(self) -> Iterator[None]:
        """One commit."""
        self.connection.execute("BEGIN IMMEDIATE")
        yield
        self.connection.execute("COMMIT")


class Postgres:
    """PostgreSQL, as durable as its server is set."""

    lock = " FOR UPDATE SKIP LOCKED"

    def __init__(self, url: str) -> None:
        """Connect."""
        self.connection = psycopg.connect(url, autocommit=True)

    def run(self, statement: str, *values: object) -> psycopg.Cursor[Any]:
        """Run it."""
        return self.connection.execute(statement.replace("?", "%s").encode(), values)

    def transaction(self) -> Any:
        """One commit."""
        return self.connection.transaction()


def opened(url: str) -> Store:
    """The database at `url`."""
    return Lite(url) if url.startswith("sqlite:") else Postgres(url)


def queue(store: Store, many: int) -> None:
    """Tables, and so many letters that are due."""
    with store.transaction():
        for each in TABLES:
            store.run(each)
        for number in range(many):
            store.run("INSERT INTO letter (id, state, not_before) VALUES (?, 'ready', ?)", number, time.time())


def send(store: Store) -> None:
    """One letter after the other, until none is due: claim, begin, hand in, record."""
    while (number := _claimed(store, token := uuid.uuid4().hex)) is not None:
        with store.transaction():
            store.run(BEGIN, time.time(), number, token)
            store.run(BEGIN_TRY, number, token, time.time())
        hand_in(number)
        with store.transaction():
            store.run(RECORD, time.time(), number, token)
            store.run(RECORD_TRY, time.time(), number, token)


def _claimed(store: Store, token: str) -> int | None:
    row = store.run(CLAIM.format(lock=store.lock), token, time.time() + LEASE, time.time()).fetchone()
    return None if row is None else int(row[0])


if __name__ == "__main__":
    database = opened(os.environ["DATABASE_URL"])
    if sys.argv[1] == "queue":
        queue(database, int(sys.argv[2]))
    else:
        send(database)
