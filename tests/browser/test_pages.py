"""Every page of the URL list, light and dark, on a phone and on a desk: nothing broken, nothing from elsewhere.

A picture of each is kept in pictures/ (or PICTURES), with an index.html to look through them.
"""

from __future__ import annotations

import os
import threading
from html import escape
from pathlib import Path

import pytest
import waitress.server
from django.conf import settings
from django.core.management import call_command
from django.core.wsgi import get_wsgi_application
from django.test import Client

from tests.browser.on_show import Show
from tests.browser.views import NOT_PAGES, View, views
from tests.browser.watching import Watched
from tests.command import ROOT
from tests.owner_world import move_clock
from tests.test_architecture import PAGES

pytestmark = pytest.mark.browser

PICTURES = Path(os.environ.get("PICTURES", ROOT / "pictures"))
HEIGHT = {390: 844, 1280: 900}


@pytest.fixture(scope="module")
def shown(django_db_setup, django_db_blocker, tmp_path_factory):
    """The views, and the address at which this process serves them."""
    with django_db_blocker.unblock(), pytest.MonkeyPatch.context() as patch:
        patch.setattr(settings, "MEDIA_ROOT", tmp_path_factory.mktemp("photos"))
        every = views(Show())
        server = waitress.server.create_server(get_wsgi_application(), host="127.0.0.1", port=0, threads=4)
        thread = threading.Thread(target=server.run, daemon=True)
        thread.start()
        yield every, f"127.0.0.1:{server.effective_port}"
        server.close()
        thread.join(10)
        call_command("flush", verbosity=0, interactive=False)


@pytest.mark.django_db  # and so that pytest-django makes a database, when these tests run alone
def test_every_address_is_looked_at_or_says_why_not(shown):
    looked_at = {view.route for view in shown[0]}

    assert looked_at | NOT_PAGES.keys() == set(PAGES)
    assert looked_at & NOT_PAGES.keys() == set()
    names = [view.picture for view in shown[0]]
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("width", [390, 1280])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_nothing_is_wrong_with_any_page(shown, chromium, scheme, width):
    every, host = shown
    PICTURES.mkdir(exist_ok=True)
    faults: list[str] = []
    for view in every:
        context = chromium.new_context(color_scheme=scheme, viewport={"width": width, "height": HEIGHT[width]})
        if view.who is not None:
            context.add_cookies([session_of(view.who, host)])
        move_clock(view.at)
        watched = Watched(context, host)
        faults += [f"{view.picture}: {fault}" for fault in look(view, watched, host)]
        watched.page.screenshot(path=PICTURES / picture(view, scheme, width), full_page=True)
        context.close()
    index(every)
    assert faults == []


def look(view: View, watched: Watched, host: str) -> list[str]:
    """Open a page, do what is to be done on it, and say what is wrong."""
    answer = watched.page.goto(f"http://{host}{view.path}")
    assert answer is not None
    wrong = [] if answer.status == view.status else [f"answered {answer.status}, not {view.status}"]
    if view.does is not None:
        view.does(watched.page)
        watched.page.wait_for_load_state()
    return wrong + watched.faults(axe=True)


def session_of(who, host):
    """The cookie of a log-in, as a browser holds it."""
    visitor = Client()
    visitor.force_login(who)
    return {"name": "sessionid", "value": visitor.cookies["sessionid"].value, "url": f"http://{host}"}


def picture(view: View, scheme: str, width: int) -> str:
    return f"{view.picture.replace(', ', '-').replace(' ', '_')}-{width}-{scheme}.png"


def index(every: list[View]) -> None:
    """A page with all pictures, beside them."""
    rows = []
    for view in every:
        names = [picture(view, scheme, width) for width in HEIGHT for scheme in ("light", "dark")]
        rows.append(f"<h2>{escape(view.picture)}</h2>" + "".join(f'<img src="{name}" height="600">' for name in names))
    (PICTURES / "index.html").write_text("<!doctype html><title>Every page</title>" + "\n".join(rows))
