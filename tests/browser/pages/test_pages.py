"""Every page of the URL list, by whoever opens it, in light and dark, on a telephone and on a desk's screen.

A page is loaded once for each width and shown in both schemes: no page has a script that could tell them apart, and
what a style sheet asks for in the other scheme is seen too. With PICTURES the pictures are kept (pictures.py), and axe
looks at all four; without, at the telephone in light and at the desk in dark: it takes half of the time there is.
"""

from __future__ import annotations

from pathlib import Path
from urllib.parse import urlsplit

import pytest
from django.test import Client
from django.urls import Resolver404, resolve
from playwright.sync_api import Error

from tests import world
from tests.browser.pages.for_owners import FOR_OWNERS
from tests.browser.pages.for_staff import FOR_STAFF
from tests.browser.pages.pictures import KEPT, SCHEMES, WIDTHS, picture
from tests.browser.pages.shown import NOBODY, Shown
from tests.browser.pages.watching import Watch
from tests.pages import FILES, ONWARDS, PAGES, POST_ONLY
from tests.test_architecture import address

TRIES = 3
NARROW = 320
"""Pixels: the smallest telephone, and a desk's screen at 400 % (WCAG 1.4.10)."""
CLOSELY = {(WIDTHS[0], SCHEMES[0]), (WIDTHS[1], SCHEMES[1])}
"""What axe looks at in every run: each width and each scheme once."""
EXAMPLES = sorted((*FOR_STAFF, *FOR_OWNERS), key=lambda example: example.at)
"""Morning first: the clock of a site never goes back."""


def test_every_page_of_the_url_list_has_an_example():
    assert {example.route for example in EXAMPLES if example.status == 200} == set(PAGES) - POST_ONLY - FILES - ONWARDS
    assert len({example.name for example in EXAMPLES}) == len(EXAMPLES)


@pytest.mark.django_db
@pytest.mark.parametrize("name", sorted(POST_ONLY))
def test_what_has_no_example_is_a_button_and_no_page(name):
    visitor = Client()
    visitor.force_login(world.staff(world.practice(seeded=False)))
    assert visitor.get(address(name)).status_code == 405


@pytest.mark.minutes
@pytest.mark.browser
@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example.name)
def test_a_page(example: Shown, clinic_site_running, browsers, monkeypatch, settings):
    settings.DEMO = example.demo
    clinic_site_running.be_at(example.at)
    if example.breaks:
        monkeypatch.setattr(example.breaks, _broken)
    findings: list[str] = []
    path = example.path(clinic_site_running)
    for width in WIDTHS:
        watch = browsers.of(example.who, width)
        watch.begin(whole=example.is_html)
        watch.page.goto(clinic_site_running.address + path)
        example.does(watch.page)
        watch.page.wait_for_load_state("load")
        assert watch.status == example.status
        assert _route(watch.page.url) == example.route
        _look(watch, example, width)
        if example.is_html and example.who == NOBODY and width == WIDTHS[0]:
            watch.look_at_shape_at(NARROW)
        findings += [f"{width} px: {each}" for each in watch.findings]
    assert not findings, "\n".join([f"{example.name}: {path}", *dict.fromkeys(findings)])


def _look(watch: Watch, example: Shown, width: int) -> None:
    if example.is_html:
        watch.look_at_policy()
    if example.is_html and width == WIDTHS[0]:
        watch.look_at_source()
    watch.let_everything_flow()
    for scheme in SCHEMES:
        watch.page.emulate_media(color_scheme=scheme)
        _keep_picture(watch, picture(example.name, width, scheme))
        if example.is_html:
            watch.look_at_shape(scheme)
        if example.is_html and (KEPT or (width, scheme) in CLOSELY):
            watch.look_with_axe(scheme)


def _keep_picture(watch: Watch, path: Path) -> None:
    """Chromium on a busy machine now and then cannot take a picture at the first try; it can at the next."""
    if not KEPT:
        return
    for _ in range(TRIES - 1):
        try:
            watch.page.screenshot(path=path, full_page=True)
        except Error:
            watch.page.wait_for_timeout(500)
        else:
            return
    watch.page.screenshot(path=path, full_page=True)


def _broken(*_: object, **__: object) -> None:
    raise RuntimeError("broken by a test")


def _route(url: str) -> str:
    try:
        return resolve(urlsplit(url).path).view_name
    except Resolver404:
        return ""
