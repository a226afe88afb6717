"""Everything that can die is killed while 200 messages are due: nothing is lost, and nothing goes out three times."""

from __future__ import annotations

import datetime as dt
from collections import Counter

import pytest

from tests.faults.many_due import DUE, MANY, SETTING_UP, STATES
from tests.real import postgres, redis
from tests.real.finding import Missing
from tests.real.plugin import SERVICES
from tests.sites import site as sites

pytestmark = [pytest.mark.faults, pytest.mark.postgres, pytest.mark.redis]

LEASE = dt.timedelta(minutes=3)
"""After so long nobody still holds what a killed process had claimed."""


@pytest.fixture
def own_servers():
    """A PostgreSQL and a Redis of this test alone, which it may kill."""
    try:
        database = postgres.start()
        queue = redis.start()
    except Missing as why:
        (pytest.fail if {"postgres", "redis"} & SERVICES.required else pytest.skip)(f"needs servers to kill: {why}")
    yield database, queue
    database.close()
    queue.close()


@pytest.fixture
def site(own_servers, tmp_path):
    """Web, worker, Beat and dispatch, with 200 messages to send through a mail server that takes its time."""
    database, queue = own_servers
    with (
        database.database("kills") as url,
        sites.services(tmp_path / "data", {}, database_url=url, redis_url=queue.url) as running,
    ):
        running.inbox.takes = 0.05
        running.be_at(DUE - dt.timedelta(hours=1))
        running.processes.run("python", "manage.py", "shell", "-v", "0", "-c", SETTING_UP)
        yield running


def test_nothing_is_lost_and_nothing_goes_out_three_times(site, own_servers, record_property):
    database, queue = own_servers
    site.move_to(DUE)

    for many, step in (
        (10, lambda: site.kill_and_start("worker")),
        (40, lambda: site.kill_and_start("beat")),
        (60, lambda: site.kill_and_start("dispatch")),
        (90, queue.restart_at_once),
        (120, database.restart_at_once),
        (140, lambda: [site.kill_and_start(name) for name in sites.SERVICES]),
    ):
        site.until(lambda many=many: len(site.inbox.mails) >= many, f"mail number {many}")
        step()

    site.until(site.answers, "a page after the databases came back")
    for round_ in range(1, 4):  # what was in a dead process's hands is tried again when its lease has run out
        site.be_at(DUE + round_ * LEASE)
    site.until(lambda: len(copies(site)) == MANY, f"a mail to each of {MANY}")

    assert max(copies(site).values()) <= 2
    twice = sum(many == 2 for many in copies(site).values())
    record_property("said", f"kills: {MANY} messages due, each arrived, {twice} of them twice ({database}; {queue})")
    states = site.processes.run("python", "manage.py", "shell", "-v", "0", "-c", STATES)
    assert states.strip() == str(["sent"] * MANY)


def copies(site) -> Counter[str]:
    """How many mails each address got."""
    return Counter(str(mail["To"]) for mail in list(site.inbox.mails))
