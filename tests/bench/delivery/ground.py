"""Where the runs take place: databases that keep what they commit, a Redis, and a folder on the disk."""

from __future__ import annotations

import itertools
import tempfile
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from tests.faults.conftest import ENVIRONMENT
from tests.faults.data import Prepared
from tests.faults.form import POSTGRES, SQLITE
from tests.faults.rig import Rig, standing
from tests.real import postgres, redis

__all__ = ["POSTGRES", "SQLITE", "Ground", "ground"]

DURABLE = {"fsync": "on", "synchronous_commit": "on", "full_page_writes": "on"}
"""As PostgreSQL is by default. Tests elsewhere go without."""


@dataclass
class Ground:
    """Servers are started when they are first needed. Raises Missing where the machine has none."""

    folder: Path
    ends: ExitStack
    prepared: Prepared
    _servers: dict[str, postgres.OwnPostgres | redis.OwnRedis] = field(default_factory=dict)
    _number: Iterator[int] = field(default_factory=itertools.count)

    @property
    def postgres(self) -> postgres.OwnPostgres:
        """One that writes a commit to the disk before it says so."""
        if POSTGRES not in self._servers:
            self._servers[POSTGRES] = server = postgres.start(**DURABLE)
            self.ends.callback(server.close)
        found = self._servers[POSTGRES]
        assert isinstance(found, postgres.OwnPostgres)
        return found

    @property
    def redis(self) -> redis.OwnRedis:
        """One that keeps nothing on the disk, as the Compose file has it."""
        if "redis" not in self._servers:
            self._servers["redis"] = server = redis.start()
            self.ends.callback(server.close)
        found = self._servers["redis"]
        assert isinstance(found, redis.OwnRedis)
        return found

    @contextmanager
    def ours(self, on: str) -> Iterator[Rig]:
        """The program over a prepared database, which has a practice and nothing else."""
        folder = self._new_folder()
        with ExitStack() as ends:
            url = self.prepared.sqlite(folder) if on == SQLITE else self.prepared.postgres(folder, self.postgres)
            yield ends.enter_context(standing(folder, url, ENVIRONMENT))

    @contextmanager
    def empty(self, on: str, **more: str) -> Iterator[Rig]:
        """Sinks and an empty database, for the other ways."""
        folder = self._new_folder()
        with ExitStack() as ends:
            url = (
                f"sqlite:///{folder / 'bare.sqlite3'}"
                if on == SQLITE
                else ends.enter_context(self.postgres.database("bare"))
            )
            yield ends.enter_context(standing(folder, url, {**ENVIRONMENT, **more}))

    def _new_folder(self) -> Path:
        folder = self.folder / f"run-{next(self._number)}"
        folder.mkdir()
        return folder


@contextmanager
def ground() -> Iterator[Ground]:
    """All of it goes away at the end."""
    with ExitStack() as ends:
        folder = Path(ends.enter_context(tempfile.TemporaryDirectory(prefix="bench-")))
        (folder / "prepared").mkdir()
        yield Ground(folder, ends, Prepared(folder / "prepared", ENVIRONMENT))
