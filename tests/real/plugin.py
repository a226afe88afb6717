"""The pytest plugin: looks for a service when the first test needs it, skips or fails without it, names it at the end.

`REQUIRE=postgres,redis,browser,faketime` makes a missing service a failure, and lets a run of the whole suite look at
what takes minutes (marked so) as well. `TEST_DATABASE=postgres` runs the chosen tests on PostgreSQL instead of SQLite.
Loaded with `-p`, because the settings are read before any conftest.
"""

from __future__ import annotations

import atexit
import os
from collections.abc import Callable
from typing import Any, Protocol

import pytest
from playwright.sync_api import Browser

from tests.real import browser, faketime, postgres, redis
from tests.real.finding import Missing

FINDERS: dict[str, Callable[[], Any]] = {
    "postgres": postgres.find,
    "redis": redis.find,
    "browser": browser.find,
    "faketime": faketime.find,
}
MARKS = {
    "postgres": "needs a PostgreSQL server",
    "redis": "needs a Redis server",
    "browser": "needs Chromium",
    "faketime": "needs libfaketime",
}


class Service(Protocol):
    """Anything that a finder gives; those that we started can be closed."""

    how: str


class Services:
    """What was looked for in this run, each once."""

    def __init__(self, required: str) -> None:
        """`required`: names, with commas between them."""
        self.required = {name.strip() for name in required.split(",") if name.strip()}
        if unknown := self.required - FINDERS.keys():
            raise pytest.UsageError(f"REQUIRE knows {', '.join(FINDERS)}; not {', '.join(sorted(unknown))}.")
        self.found: dict[str, Service | Missing] = {}

    def look(self, name: str) -> Service | Missing:
        """The service, or why there is none; looked for once."""
        if name not in self.found:
            try:
                self.found[name] = FINDERS[name]()
            except Missing as why:
                self.found[name] = why
        return self.found[name]

    def lines(self) -> list[str]:
        """A line for each that was looked for."""
        return [
            f"{name} MISSING: {what}" if isinstance(what, Missing) else str(what)
            for name, what in sorted(self.found.items())
        ]

    def close(self) -> None:
        """Stop what we started."""
        for what in self.found.values():
            getattr(what, "close", lambda: None)()
        self.found.clear()


SERVICES = Services(os.environ.get("REQUIRE", ""))

if os.environ.get("TEST_DATABASE") == "postgres":
    server = SERVICES.look("postgres")
    if isinstance(server, Missing):
        raise pytest.UsageError(f"TEST_DATABASE=postgres: {server}")
    atexit.register(SERVICES.close)
    os.environ["DATABASE_URL"] = server.url  # type: ignore[attr-defined]


def pytest_configure(config: pytest.Config) -> None:
    """Make the marks known."""
    for name, text in MARKS.items():
        config.addinivalue_line("markers", f"{name}: {text}")
    config.addinivalue_line("markers", "minutes: takes so long that a plain run of the whole suite leaves it out")


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Skip what takes minutes, unless its services are required or it was chosen by its path.

    It comes first: left to the end, one worker would be busy with it alone while the others wait.
    """
    items.sort(key=lambda item: item.get_closest_marker("minutes") is None)
    if config.args != config.getini("testpaths"):
        return
    for item in items:
        needs = [name for name in FINDERS if item.get_closest_marker(name)]
        if item.get_closest_marker("minutes") and not SERVICES.required.issuperset(needs):
            how = f"REQUIRE={','.join(needs)} make test, or ARGS={item.nodeid.partition('::')[0]}"
            item.add_marker(pytest.mark.skip(reason=f"takes minutes: {how}"))


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup(item: pytest.Item) -> None:
    """Before anything else of a marked test: is what it needs there?"""
    for name in FINDERS:
        if item.get_closest_marker(name) and isinstance(why := SERVICES.look(name), Missing):
            refuse = pytest.fail if name in SERVICES.required else pytest.skip
            refuse(f"{MARKS[name]}: {why}", **({"pytrace": False} if refuse is pytest.fail else {}))


LINES = pytest.StashKey[list[str]]()


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Remember what to say, and stop what was started."""
    session.config.stash.setdefault(LINES, []).extend(SERVICES.lines())
    if hasattr(session.config, "workeroutput"):
        session.config.workeroutput["real"] = SERVICES.lines()
    SERVICES.close()


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: Any) -> None:
    """Under xdist: take over what a worker found."""
    said = node.config.stash.setdefault(LINES, [])
    said.extend(line for line in getattr(node, "workeroutput", {}).get("real", ()) if line not in said)


def pytest_terminal_summary(terminalreporter: Any, config: pytest.Config) -> None:
    """Say what the tests ran against, and what a test wants to be read at the end (its property `said`)."""
    passed = terminalreporter.stats.get("passed", ())
    said = [str(value) for report in passed for name, value in report.user_properties if name == "said"]
    if lines := [*config.stash.get(LINES, []), *said]:
        terminalreporter.section("real services")
        for line in lines:
            terminalreporter.write_line(line)


def _service(name: str) -> Any:
    found = SERVICES.look(name)
    if isinstance(found, Missing):
        pytest.fail(f"mark the test with pytest.mark.{name}: it {MARKS[name]}", pytrace=False)
    return found


@pytest.fixture(scope="session")
def postgres_server() -> postgres.Postgres:
    """The PostgreSQL of this run."""
    found: postgres.Postgres = _service("postgres")
    return found


@pytest.fixture(scope="session")
def redis_server() -> redis.Redis:
    """The Redis of this run."""
    found: redis.Redis = _service("redis")
    return found


@pytest.fixture(scope="session")
def chromium() -> Browser:
    """The browser of this run; a test makes contexts of its own in it."""
    found: Browser = _service("browser").browser
    return found


@pytest.fixture(scope="session")
def fake_time() -> faketime.FakeTime:
    """A way to move the clock of one process."""
    found: faketime.FakeTime = _service("faketime")
    return found
