"""What a trial may ask for. Trials marked `faults` take minutes: they run when `-m faults` asks for them."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from typing import TypeVar

import pytest

from tests.faults.data import Prepared
from tests.faults.figures import Figures
from tests.faults.form import SQLITE
from tests.faults.rig import Rig, standing
from tests.faults.table import Row, note
from tests.real import postgres, redis
from tests.real.finding import Missing
from tests.real.plugin import LINES, SERVICES

ENVIRONMENT = {
    "PATH": os.environ["PATH"],
    "PYTHONUNBUFFERED": "1",
    "TESTING": "yes",
    "TICK_SECONDS": "1",
    "SECRET_KEY": "s" * 50,
    "LINK_KEYS": f"1:{'k' * 48}",
}
Server = TypeVar("Server", postgres.OwnPostgres, redis.OwnRedis)


def pytest_configure(config: pytest.Config) -> None:
    """Make the mark known."""
    config.addinivalue_line("markers", "faults: a trial of the fault table, run by `make faults`")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave the trials out unless they are asked for."""
    if "faults" in config.option.markexpr:
        return
    trials = [item for item in items if item.get_closest_marker("faults")]
    config.hook.pytest_deselected(items=trials)
    items[:] = [item for item in items if item not in trials]


@pytest.fixture(scope="session")
def _postgres(request: pytest.FixtureRequest) -> Iterator[postgres.OwnPostgres]:
    """What it has committed is written before it says so."""
    yield from _own(request, "postgres", lambda: postgres.start(synchronous_commit="on"))


@pytest.fixture(scope="session")
def _redis(request: pytest.FixtureRequest) -> Iterator[redis.OwnRedis]:
    yield from _own(request, "redis", redis.start)


@pytest.fixture
def own_postgres(_postgres) -> Iterator[postgres.OwnPostgres]:
    """A PostgreSQL of the trials alone, which they may kill."""
    yield _postgres
    if not _postgres.answers():
        _postgres.start()


@pytest.fixture
def own_redis(_redis) -> Iterator[redis.OwnRedis]:
    """A Redis of the trials alone, which they may kill."""
    yield _redis
    _redis.restart_at_once()


def _own(request: pytest.FixtureRequest, name: str, start: Callable[[], Server]) -> Iterator[Server]:
    try:
        server = start()
    except Missing as why:
        (pytest.fail if name in SERVICES.required else pytest.skip)(f"needs a {name} server to kill: {why}")
    request.config.stash.setdefault(LINES, []).append(f"to kill: {server}")
    yield server
    server.close()


@pytest.fixture(scope="session")
def prepared(tmp_path_factory: pytest.TempPathFactory) -> Prepared:
    """A prepared database to copy."""
    return Prepared(tmp_path_factory.mktemp("prepared"), ENVIRONMENT)


Stand = Callable[..., Rig]


@pytest.fixture
def stand(request, prepared, tmp_path) -> Iterator[Stand]:
    """Sets up a rig over SQLite, or over PostgreSQL, with or without Redis; its processes end with the test."""
    with ExitStack() as ends:

        def up(on: str = SQLITE, *, queue: bool = False, **more: str) -> Rig:
            if on == SQLITE:
                url = prepared.sqlite(tmp_path)
            else:
                url = prepared.postgres(tmp_path, request.getfixturevalue("own_postgres"))
            if queue:
                server = request.getfixturevalue("own_redis")
                server.empty()
                more["REDIS_URL"] = server.url
            return ends.enter_context(standing(tmp_path, url, {**ENVIRONMENT, **more}))

        yield up


@pytest.fixture
def tell(record_property) -> Callable[..., None]:
    """Prints the figures of a trial, and adds its row to the table: once for each database."""

    def told(number: str, fault: str, on: str, found: Figures | None, besides: str = "") -> None:
        row = Row(number, fault, on, found, besides)
        record_property("said", f"row {row}")
        note(row)

    return told
