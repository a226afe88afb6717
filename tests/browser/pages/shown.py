"""What an example of a page is: where it stands, who opens it, and what he does there."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass

from playwright.sync_api import Page

from tests.browser.pages.clinic_site import MORNING, ClinicSite

NOBODY = ""
VET, SECOND, NURSE, DESK, ADMINISTRATOR, EMPTY, LONG = (
    "vet@quillbrook.example.org",
    "second.vet@quillbrook.example.org",
    "nurse@quillbrook.example.org",
    "desk@quillbrook.example.org",
    "administrator@quillbrook.example.org",
    "vet@sallow-lane.example.org",
    "long",
)
"""Who opens a page, by log-in. NOBODY is not logged in: an owner, who needs only his address, or a stranger."""


def settle(page: Page) -> None:
    """Wait for what was sent without leaving the page."""
    page.wait_for_load_state("load")
    page.wait_for_function("() => !document.querySelector('[aria-busy=true]')")


def nothing(_page: Page) -> None:
    """Only look."""


@dataclass(frozen=True)
class Shown:
    """One picture's page. `route` is the page whose address is open in the end; empty: no page's."""

    name: str
    route: str
    who: str
    path: Callable[[ClinicSite], str]
    does: Callable[[Page], None] = nothing
    status: int = 200
    at: dt.datetime = MORNING
    is_html: bool = True
    demo: bool = False
    """Whether the site says that its practice is invented."""
    breaks: str = ""
    """A name in the program that raises while this page is opened."""


def press(button: str, **typed: str) -> Callable[[Page], None]:
    """Type into the fields of these names, then press the button."""

    def does(page: Page) -> None:
        for name, value in typed.items():
            page.locator(f'[name="{name}"]').fill(value)
        page.get_by_role("button", name=button, exact=True).click()
        settle(page)

    return does


def choose(value: str, button: str) -> Callable[[Page], None]:
    """Choose the answer with this value, then press the button."""

    def does(page: Page) -> None:
        page.locator(f'input[value="{value}"]').first.check()
        page.get_by_role("button", name=button, exact=True).click()
        settle(page)

    return does
