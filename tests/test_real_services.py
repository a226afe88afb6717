"""A service that is not there is a skip that says how to get it, or a failure where it was required."""

from __future__ import annotations

import os
import platform
import subprocess
import sys
from types import SimpleNamespace
from typing import Any

import pytest

from tests.command import ROOT
from tests.real import browser, plugin, postgres, redis
from tests.real.finding import Missing

NEEDY = """
import pytest

@pytest.mark.{mark}
def test_needs_it():
    pass
"""
ELSEWHERE = {
    "PATH": "/nowhere",
    "TEST_DATABASE_URL": "postgres://a@127.0.0.1:1/b",
    "TEST_REDIS_URL": "redis://127.0.0.1:1/0",
    "LIBFAKETIME": "/nowhere/it.so",
}
"""A machine on which nothing answers."""


def run(tmp_path, mark, **more):
    (tmp_path / "test_needy.py").write_text(NEEDY.format(mark=mark))
    return subprocess.run(
        [
            sys.executable,
            "-m",
            "pytest",
            "-p",
            "no:cacheprovider",
            "-c",
            "pyproject.toml",
            str(tmp_path / "test_needy.py"),
        ],
        cwd=ROOT,
        env={**os.environ, "REQUIRE": "", **ELSEWHERE, **more},
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )


@pytest.mark.parametrize(
    ("mark", "how"),
    [
        ("postgres", "needs a PostgreSQL server: TEST_DATABASE_URL does not answer"),
        ("redis", "needs a Redis server: TEST_REDIS_URL does not answer"),
        ("browser", "set CHROMIUM, or install it (Debian: apt-get install chromium"),
        ("faketime", "there is no /nowhere/it.so; set LIBFAKETIME to the path"),
    ],
)
def test_a_missing_service_is_a_skip_with_the_way_out_or_a_failure_if_required(tmp_path, mark, how):
    skipped = run(tmp_path, mark)
    failed = run(tmp_path, mark, REQUIRE=f"{mark}")

    assert (skipped.returncode, "1 skipped" in skipped.stdout, how in skipped.stdout) == (0, True, True), skipped.stdout
    assert f"{mark} MISSING" in skipped.stdout
    assert (failed.returncode, how in failed.stdout) == (1, True), failed.stdout


def test_an_unknown_name_in_require_is_said(tmp_path):
    refused = run(tmp_path, "redis", REQUIRE="redis,oracle")

    assert refused.returncode != 0
    assert "REQUIRE knows postgres, redis, browser, faketime; not oracle." in refused.stdout + refused.stderr


@pytest.mark.postgres
def test_postgresql_is_found_and_named(postgres_server):
    assert str(postgres_server).startswith(f"PostgreSQL {postgres_server.version} (")


@pytest.mark.redis
def test_redis_is_found_and_named(redis_server):
    assert str(redis_server).startswith(f"Redis {redis_server.version} (")


def test_a_program_that_cannot_start_is_passed_over_for_the_next(monkeypatch, tmp_path):
    broken = tmp_path / "broken"
    broken.mkdir()
    for module, name in ((postgres, "programs"), (redis, "binaries")):
        monkeypatch.setattr(module, name, lambda: [(broken, "a broken one")])
        with pytest.raises(Missing, match=r"a broken one: .*install"):
            module.start()


def test_a_browser_that_cannot_be_launched_is_missed_with_the_reason(monkeypatch):
    monkeypatch.setenv("CHROMIUM", "/bin/true")
    with pytest.raises(Missing, match="/bin/true could not be launched"):
        browser.find()


@pytest.mark.parametrize("module", [postgres, redis])
def test_the_wheels_carry_servers_that_start(module):
    """What a newcomer's machine falls back on, where the wheel is there and can be run by us."""
    found = [each for each in (module.programs() if module is postgres else module.binaries()) if "wheel" in each[1]]
    if not found:
        assert module is redis and (sys.version_info >= (3, 13) or platform.machine() != "x86_64")  # noqa: PT018
        return
    try:
        server = (module.OwnPostgres if module is postgres else module.OwnRedis)(*found[0])
    except (Missing, PermissionError) as why:
        pytest.skip(f"it may not be run here: {why}")
    assert server.version
    server.close()


class Chosen:
    """A test as the plugin sees it while tests are collected."""

    nodeid = "tests/browser/pages/test_pages.py::test_a_page"

    def __init__(self, *marks):
        self.marks, self.added = set(marks), []

    def get_closest_marker(self, name):
        return name if name in self.marks else None

    def add_marker(self, mark):
        self.added.append(mark.kwargs["reason"])


@pytest.mark.parametrize(
    ("marks", "required", "args", "left_out"),
    [
        (("browser", "minutes"), "", ["tests"], True),
        (("browser", "minutes"), "redis", ["tests"], True),
        (("browser", "minutes"), "browser,redis", ["tests"], False),
        (("browser", "minutes"), "", ["tests/browser/pages"], False),
        (("browser",), "", ["tests"], False),
    ],
)
def test_a_plain_run_leaves_out_what_takes_minutes_and_says_how_to_run_it(monkeypatch, marks, required, args, left_out):
    monkeypatch.setattr(plugin, "SERVICES", plugin.Services(required))
    test, config = Chosen(*marks), SimpleNamespace(args=args, getini=lambda _name: ["tests"])

    choose: Any = plugin.pytest_collection_modifyitems
    choose(config, [test])

    how = "takes minutes: REQUIRE=browser make test, or ARGS=tests/browser/pages/test_pages.py"
    assert test.added == ([how] if left_out else [])
