"""Sites for stories: the same story on one process with SQLite, and on many with PostgreSQL and Redis."""

from __future__ import annotations

import pytest

from tests.browser.cast import SETTING_UP
from tests.sites import site as sites
from tests.sites.clock import machine_at

EMBEDDED = "embedded"
MACHINE = {"embedded": 3, "services": 15}
"""The hour of the machine (UTC) at which each begins: stories must not depend on it."""
SERVICES = pytest.param("services", marks=[pytest.mark.postgres, pytest.mark.redis, pytest.mark.minutes])


@pytest.fixture(params=[EMBEDDED, SERVICES])
def site(request, tmp_path):
    """A site with an invented practice, not yet at any hour."""
    more = machine_at(MACHINE[request.param])
    folder = tmp_path / "data"
    if request.param == EMBEDDED:
        with sites.embedded(folder, more) as running:
            yield _opened(running, MACHINE[request.param])
        return
    postgres, redis = request.getfixturevalue("postgres_server"), request.getfixturevalue("redis_server")
    redis.empty()
    with (
        postgres.database("story") as database_url,
        sites.services(folder, more, database_url=database_url, redis_url=redis.url) as running,
    ):
        yield _opened(running, MACHINE[request.param])


def _opened(site: sites.Site, hour: int) -> sites.Site:
    site.until(site.answers, "the first page")
    assert site.machine_time().hour == hour
    site.processes.run("python", "manage.py", "shell", "-v", "0", "-c", SETTING_UP)
    return site
