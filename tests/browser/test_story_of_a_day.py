"""A story: nothing eaten since yesterday evening. From the counter to the vet's sign-off."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from tests.browser.cast import DESK, VET, address_of
from tests.browser.people import Owner, enrol, log_in
from tests.owner_world import GOOD, NIGHT_PHONE
from tests.sites.site import text_of
from tests.world import at

pytestmark = pytest.mark.browser

WELL = {key: values[0] for key, values in GOOD.items()}
NOTHING_EATEN = {**WELL, "appetite": "none", "last_ate_at": "19:00"}


def test_nothing_eaten_since_yesterday_evening(site, chromium):
    site.be_at(at("16:28"))
    desk = log_in(chromium, site, DESK)
    enrol(desk)
    expect(desk.get_by_role("heading", name="Bean")).to_be_visible()

    site.be_at(at("16:35"))
    owner = Owner(chromium, site)
    owner.open_link(having="looking after Bean")
    for evening in ("18:30", "20:46"):
        site.be_at(at(evening))
        owner.open_link(having="How is Bean?")
        owner.answer(WELL)
        expect(owner.page.get_by_text("Nothing you told us worries us today")).to_be_visible()

    site.be_at(at("07:40", day=1))
    owner.open_link(having="How is Bean?")
    asked = owner.answer(NOTHING_EATEN)
    print(asked, owner.page.inner_text("main"))
    expect(owner.page.get_by_text("Emergency").first).to_be_visible()
    assert owner.page.locator("a.number").first.get_attribute("href") == f"tel:{NIGHT_PHONE}"  # the practice opens at 8

    alert = text_of(site.mail(address_of(VET), having="EMERGENCY Bean"))
    print(alert)
    phone = chromium.new_context().new_page()
    phone.goto(re.search(r"http://\S+/a/\S+", alert)[0])
    phone.get_by_role("button", name="I have it").click()
    print(phone.inner_text("main"))

    vet = log_in(chromium, site, VET)
    print(vet.inner_text("main"))
