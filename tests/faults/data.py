"""The database of a trial: made once with the program's own `prepare`, then copied for each."""

from __future__ import annotations

import datetime as dt
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Mapping
from contextlib import closing
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import psycopg

from tests.command import ROOT
from tests.real.postgres import OwnPostgres

TEMPLATE = "prepared"


def prepare(environment: Mapping[str, str]) -> None:
    """Tables, an invented practice and its protocols, as the trial's processes will find them."""
    for command in (["prepare"], ["shell", "-v", "0", "-c", "from tests.faults.seeds import practice; practice()"]):
        subprocess.run(
            [sys.executable, "manage.py", *command],
            cwd=ROOT,
            env=dict(environment),
            check=True,
            stdout=subprocess.DEVNULL,
        )


class Prepared:
    """Where copies of a prepared database come from, made when the first is asked for."""

    def __init__(self, folder: Path, environment: Mapping[str, str]) -> None:
        """`folder`: for the SQLite file; `environment`: of the program's processes, without a database."""
        self.folder, self.environment = folder, environment
        self._in: set[str] = set()

    def sqlite(self, folder: Path) -> str:
        """The URL of a new SQLite file in `folder`."""
        original = self.folder / f"{TEMPLATE}.sqlite3"
        self._prepare_once(f"sqlite:///{original}")
        shutil.copy(original, folder / "followup.sqlite3")
        self.copy_pages(folder)
        return f"sqlite:///{folder / 'followup.sqlite3'}"

    def postgres(self, folder: Path, server: OwnPostgres) -> str:
        """The URL of a new database on this server, which takes the place of an earlier trial's."""
        if server.address(TEMPLATE) not in self._in:
            server.copy("template1", TEMPLATE)
            self._prepare_once(server.address(TEMPLATE))
        server.copy(TEMPLATE, name := "trial")
        self.copy_pages(folder)
        return server.address(name)

    def copy_pages(self, folder: Path) -> None:
        """Whom owners phone when everything else is gone."""
        shutil.copytree(self.folder / "emergency", folder / "emergency", dirs_exist_ok=True)

    def _prepare_once(self, url: str) -> None:
        if url not in self._in:
            prepare({**self.environment, "DATA_DIR": str(self.folder), "DATABASE_URL": url})
            self._in.add(url)


def ask(url: str, question: str) -> list[tuple[Any, ...]]:
    """Rows straight from a trial's database, without the program."""
    if url.startswith("sqlite:"):
        with closing(sqlite3.connect(urlsplit(url).path, timeout=20)) as lite:
            return lite.execute(question).fetchall()
    with psycopg.connect(url, connect_timeout=5) as connection:
        return connection.execute(question.encode()).fetchall()


def change(url: str, statement: str) -> None:
    """Do something to a trial's database that the program knows nothing of."""
    if url.startswith("sqlite:"):
        with closing(sqlite3.connect(urlsplit(url).path, timeout=20)) as lite, lite:
            lite.execute(statement)
        return
    with psycopg.connect(url) as connection:
        connection.execute(statement.encode())


def moment(value: Any) -> dt.datetime:
    """A time as either database gives it."""
    found = value if isinstance(value, dt.datetime) else dt.datetime.fromisoformat(value)
    return found if found.tzinfo else found.replace(tzinfo=dt.UTC)
