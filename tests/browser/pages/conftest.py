"""One site and a browser's contexts for all tests of pages: made once, taken away at the end."""

from __future__ import annotations

import pytest
from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from django.db import connection, connections
from django.test.utils import setup_databases, teardown_databases
from playwright.sync_api import ViewportSize

from clinic.models import Staff
from tests.browser.pages import clinic_site, pictures
from tests.browser.pages.for_owners import FOR_OWNERS
from tests.browser.pages.for_staff import FOR_STAFF
from tests.browser.pages.shown import LONG
from tests.browser.pages.watching import Watch

PHONE: ViewportSize = {"width": 390, "height": 844}
DESK: ViewportSize = {"width": 1280, "height": 900}


@pytest.fixture(scope="package")
def test_database(django_db_setup, django_db_blocker):
    """The test database. pytest-django makes none in a run where no chosen test is marked `django_db`."""
    with django_db_blocker.unblock():
        if "clinic_practice" in connection.introspection.table_names():
            yield
            return
        connection.close()
        made = setup_databases(verbosity=0, interactive=False)
        yield
        teardown_databases(made, verbosity=0)


@pytest.fixture(scope="package")
def clinic_site_running(test_database, tmp_path_factory):
    """The demo's practice at 07:40, served. Package: filling it takes ten seconds."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(connections.settings["default"], "CONN_MAX_AGE", 0)  # the server's threads keep none at the end
        patch.setattr(settings, "MEDIA_ROOT", tmp_path_factory.mktemp("photos"))
        with clinic_site.running() as site:
            yield site
    pictures.write_index(example.name for example in (*FOR_OWNERS, *FOR_STAFF))


class Browsers:
    """A window for each person and width; made when first asked for."""

    def __init__(self, chromium, address: str) -> None:
        self.chromium, self.address = chromium, address
        self.open: dict[tuple[str, int], Watch] = {}

    def of(self, who: str, width: int) -> Watch:
        """A telephone at 390 px, a desk's screen above."""
        if (who, width) not in self.open:
            self.open[who, width] = self._new(who, width)
        return self.open[who, width]

    def _new(self, who: str, width: int) -> Watch:
        small = width < DESK["width"]
        context = self.chromium.new_context(
            viewport=PHONE if small else DESK,
            is_mobile=small,
            has_touch=small,
            reduced_motion="reduce",
            locale="en-GB",
            timezone_id="Europe/London",
        )
        context.set_default_timeout(10_000)
        if who:
            context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": session_of(who), "url": self.address}])
        return Watch(context, self.address)


def session_of(who: str) -> str:
    """The key of a new session of this log-in."""
    staff = Staff.objects.get(name__startswith="Dr Hoppel") if who == LONG else Staff.objects.get(email=who)
    session = SessionStore()
    session[SESSION_KEY] = str(staff.pk)
    session[BACKEND_SESSION_KEY] = settings.AUTHENTICATION_BACKENDS[-1]
    session[HASH_SESSION_KEY] = staff.get_session_auth_hash()
    session.create()
    return str(session.session_key)


@pytest.fixture(scope="package")
def browsers(chromium, clinic_site_running):
    """Windows for whoever opens a page."""
    found = Browsers(chromium, clinic_site_running.address)
    yield found
    for watch in found.open.values():
        watch.page.context.close()
