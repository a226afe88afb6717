"""A story: he has died. The owner says so, is left in peace, and the clinic knows."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.browser.cast import DESK, VET
from tests.browser.people import OWNER, Owner, enrol, log_in
from tests.world import at

pytestmark = pytest.mark.browser


def test_he_has_died(site, chromium):
    site.be_at(at("16:28"))
    enrol(log_in(chromium, site, DESK))
    owner = Owner(chromium, site)
    site.be_at(at("18:30"))
    owner.open_link(having="How is Bean?")

    owner.page.get_by_role("link", name="Bean has died").click()
    owner.page.get_by_role("button").click()
    expect(owner.page.get_by_text("sorry")).to_be_visible()
    before = len(site.mails(OWNER))

    vet = log_in(chromium, site, VET)
    expect(vet.get_by_text("Bean").first).to_be_visible()
    expect(vet.locator("main")).to_contain_text("died")

    for clock, day in (("20:46", 0), ("22:01", 0), ("07:31", 1), ("09:00", 3)):
        site.be_at(at(clock, day=day))
    assert len(site.mails(OWNER)) == before  # nothing more, to him or about him
    owner.page.goto(owner.home)
    expect(owner.page.get_by_role("link", name="Tell us")).to_have_count(0)
