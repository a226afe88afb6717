"""What stands in a log opens no page."""

from __future__ import annotations

import logging
import re
from typing import Any

import pytest
from django.conf import settings

from clinic.log_lines import WithoutCodes, without_codes
from tests.command import python
from tests.pages import PAGES

CODE = "k3y0fR0b1n-and_nobody-else"


def routes_with_a_code():
    """Every address with a code in it, as its route is written in urls.py."""
    routes = (f"/{pattern.pattern}" for pattern in PAGES.values())
    return sorted({route for route in routes if "<str:code>" in route})


def test_there_are_addresses_with_codes():
    assert len(routes_with_a_code()) >= 8


@pytest.mark.parametrize("route", routes_with_a_code())
def test_no_address_with_a_code_is_logged_whole(route):
    path = re.sub(r"<[^>]+>", "7", route.replace("<str:code>", CODE))

    said = without_codes(f'Not Found: {path}\nReferer "https://practice.example.org{path}?x=1"')

    assert CODE not in said
    assert said.count("…") == 2


@pytest.mark.parametrize("path", ["/plans/12/sign-off/", "/static/clinic/app.css", "/health", "/log-in/?next=/tray/3/"])
def test_other_addresses_are_logged_as_they_are(path):
    assert without_codes(f"Not Found: {path}") == f"Not Found: {path}"


def test_a_traceback_holds_no_code_either():
    with pytest.raises(ValueError, match="invalid literal") as broken:
        int(f"/o/willow-lane/{CODE}/")
    what = (broken.type, broken.value, broken.tb)

    said = WithoutCodes("{message}", style="{").format(
        logging.LogRecord("x", logging.ERROR, __file__, 1, "it broke", None, what)
    )

    assert "Traceback" in said
    assert "/o/willow-lane/…/" in said
    assert CODE not in said


def test_every_handler_of_the_program_leaves_codes_out(tmp_path):
    logging_as_set: dict[str, Any] = settings.LOGGING
    assert {each["formatter"] for each in logging_as_set["handlers"].values()} == {"line"}
    # Not in the code: Python 3.13 shows a line of -c in a traceback.
    ask = "import os, clinic.wsgi; from django.test import Client; Client().get(os.environ['ASKED'])"
    keys = {
        "ASKED": f"/o/nowhere/{CODE}/",
        "SECRET_KEY": "s" * 50,
        "LINK_KEYS": f"1:{'k' * 40}",
        "DJANGO_SETTINGS_MODULE": "clinic.settings",
    }
    result = python("-c", ask, folder=tmp_path, ALLOWED_HOSTS="testserver", **keys)

    assert "/o/nowhere/…/" in result.stderr
    assert CODE not in result.stderr
