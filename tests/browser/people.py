"""What the people of the stories do, each in a browser of his own."""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType

from playwright.sync_api import Browser, Locator, Page, ViewportSize, expect

from tests import world
from tests.browser.cast import address_of
from tests.forms.typed import FIELDS
from tests.owner_world import GOOD
from tests.sites.site import Site, text_of

DESKTOP: ViewportSize = {"width": 1280, "height": 900}
PATIENCE = 30_000
"""Milliseconds that a page may take on a busy machine: a story says what happens, not how fast."""
PHONE: ViewportSize = {"width": 390, "height": 844}
OWNER = "kim@example.org"


def log_in(browser: Browser, site: Site, name: str) -> Page:
    """A member of staff at the clinic's screen."""
    page = browser.new_context(viewport=DESKTOP).new_page()
    page.set_default_timeout(PATIENCE)
    page.goto(f"{site.address}/log-in/")
    page.get_by_label("E-mail").fill(address_of(name))
    page.get_by_label("Password").fill(world.PASSWORD)
    page.get_by_role("button", name="Log in").click()
    expect(page.get_by_role("heading", name="Morning list")).to_be_visible()
    return page


def enrol(desk: Page, changes: Mapping[str, object] = MappingProxyType({})) -> None:
    """Fill in the desk's page for Bean, a boar castrated this morning, and begin the plan. Ends on the sheet."""
    desk.get_by_role("link", name="Enrol").first.click()
    fill_in(desk, changes)
    desk.get_by_role("button", name="Look at the plan").click()
    desk.get_by_role("button", name="Confirm: begin this plan").click()


def fill_in(desk: Page, changes: Mapping[str, object]) -> None:
    """Type everything into the enrolment page, once all of it is there: a field that is not would be passed over."""
    desk.get_by_role("button", name="Look at the plan").wait_for()
    for name, value in {**FIELDS, "owner-email": OWNER, **changes}.items():
        _fill(desk, name, value)


def _fill(page: Page, name: str, value: object) -> None:
    field = page.locator(f'[name="{name}"]')
    if not field.count() or value == "" or field.first.get_attribute("type") == "hidden":
        return
    for handle in field.element_handles():
        handle.evaluate(
            "element => { const closed = element.closest('details:not([open])'); if (closed) closed.open = true }"
        )
    kind = field.first.evaluate("element => element.type")
    if kind == "select-one":
        field.select_option(str(value))
    elif kind in {"checkbox", "radio"}:
        for each in value if isinstance(value, list) else [value]:
            _choice(field, each).check()
    else:
        field.fill(str(value))


def _choice(field: Locator, value: object) -> Locator:
    """The box or button with this value; a box without one says "on"."""
    return field if value == "on" else field.and_(field.page.locator(f'[value="{value}"]'))


WELL = {key: values[0] for key, values in GOOD.items()}
"""Every answer as it should be."""


class Owner:
    """The owner with a phone: opens the link of a mail and answers."""

    def __init__(self, browser: Browser, site: Site) -> None:
        """A phone of 390 px, with touch."""
        self.site = site
        self.page = browser.new_context(
            viewport=PHONE, is_mobile=True, has_touch=True, device_scale_factor=2
        ).new_page()
        self.page.set_default_timeout(PATIENCE)

    def open_link(self, *, having: str = "", after: int = 0) -> None:
        """Open the link of the newest mail with these words."""
        mail = text_of(self.site.mail(OWNER, having=having, after=after))
        found = re.search(r"http://\S+/o/\S+", mail)
        assert found, mail
        self.home = found[0]
        self.page.goto(self.home)

    def answer(self, answers: Mapping[str, str]) -> list[str]:
        """Go through the questions, giving `answers` by question, not sure of the rest; the keys that were asked."""
        self.page.get_by_role("link", name=re.compile("Tell us")).first.click()
        asked: list[str] = []
        while "/ask/" in self.page.url:
            key = str(self.page.locator('input[name="question"]').first.input_value())
            assert key not in asked[-1:], f"asked twice: {self.page.inner_text('main')}"
            asked.append(key)
            self._give(answers.get(key))
            self.page.wait_for_function("() => !document.querySelector('[aria-busy=true]')")  # sent without leaving it
        return asked

    def _give(self, value: str | None) -> None:
        if value is not None and ":" in value:
            self.page.get_by_label("If you know the time").fill(value)
            self.page.get_by_role("button", name="Continue").click()
            return
        choice = self.page.locator(f'[name="answer"][value="{value or "not_sure"}"]')
        if self.page.locator("button.answer").count() and choice.count():
            choice.click()
            return
        if choice.count():
            choice.check()
        elif self.page.get_by_role("button", name="Skip this question").count():
            self.page.get_by_role("button", name="Skip this question").click()
            return
        self.page.get_by_role("button", name="Continue").click()


class Vet:
    """The vet at the clinic's screen."""

    def __init__(self, page: Page, site: Site) -> None:
        """Logged in."""
        self.page, self.site = page, site

    def open_list(self) -> None:
        """The morning list, as it is now."""
        self.page.goto(f"{self.site.address}/")

    def open_patient(self, name: str) -> None:
        """One patient's page, from the list; on track, he is folded away."""
        self.open_list()
        for folded in self.page.locator("details:not([open]) > summary").all():
            folded.click()
        self.page.get_by_role("link", name=name, exact=True).first.click()
        self.page.get_by_role("heading", name=name, exact=True, level=1).wait_for()

    def review_all(self, name: str) -> int:
        """Close each open flag of the patient; how many there were."""
        reviewed = 0
        self.open_patient(name)
        while (review := self.page.get_by_role("link", name=re.compile("^Review"))).count():
            review.first.click()
            self.page.get_by_label("To watch, on the next list").check()
            self.page.get_by_label("What you found").fill("bright on the phone")
            self.page.get_by_label("What was done").fill("told the owner what to watch")
            with self.page.expect_navigation():
                self.page.get_by_role("button", name="Close this flag").click()
            reviewed += 1
            self.open_patient(name)
        return reviewed

    def look_at_wound(self, name: str) -> None:
        """The patient's next wound review."""
        self.open_patient(name)
        self.page.get_by_role("link", name="look at the wound").first.click()
        self.page.get_by_label("What you saw").fill("dry and closed")
        self.page.get_by_label("What you decided").fill("go on")
        self.page.get_by_role("button", name="The wound has been looked at").click()

    def sign_off(self, name: str) -> None:
        """Without complication."""
        self.open_patient(name)
        self.page.get_by_role("link", name="Sign off").click()
        self.page.locator('input[name="outcome"][value="none"]').check()
        self.page.get_by_role("button", name="Sign off").click()
