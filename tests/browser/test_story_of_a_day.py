"""A story: nothing eaten since yesterday evening. From the counter to the vet's sign-off."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from tests.browser.cast import DESK, VET, address_of
from tests.browser.people import OWNER, WELL, Owner, Vet, enrol, log_in
from tests.owner_world import NIGHT_PHONE
from tests.sites.site import text_of
from tests.world import at

pytestmark = pytest.mark.browser

NOTHING_EATEN = {**WELL, "appetite": "none", "last_ate_at": "19:00"}


def test_nothing_eaten_since_yesterday_evening(site, chromium):
    site.be_at(at("16:28"))
    desk = log_in(chromium, site, DESK)
    enrol(desk)
    expect(desk.get_by_role("heading", name="Looking after Bean")).to_be_visible()
    owner = Owner(chromium, site)
    an_evening_at_home(site, owner)

    site.be_at(at("07:40", day=1))
    owner.open_link(having="How is Bean?")
    owner.answer(NOTHING_EATEN)
    expect(owner.page.get_by_role("heading", name="Phone a vet now")).to_be_visible()
    first_number = owner.page.locator("a.number").first
    assert first_number.get_attribute("href") == f"tel:{NIGHT_PHONE}"  # the practice opens at 8

    the_one_on_call_has_it(site, chromium)
    vet = Vet(log_in(chromium, site, VET), site)
    first = vet.page.locator("li.row").first
    expect(first).to_contain_text("Bean")
    expect(first).to_contain_text("12.7 h")
    assert vet.review_all("Bean") > 0

    a_fortnight_later(site, vet)
    expect(vet.page.get_by_text("Ended:")).to_be_visible()
    site.mail(OWNER, having="the follow-up is over")
    owner.page.goto(owner.home)
    expect(owner.page.get_by_text("The follow-up of Bean has ended")).to_be_visible()


def an_evening_at_home(site, owner):
    """The first message, and two good answers."""
    site.be_at(at("16:35"))
    owner.open_link(having="looking after Bean")
    expect(owner.page.get_by_text("We ask you today at 18:30")).to_be_visible()
    for evening in ("18:30", "20:46"):
        site.be_at(at(evening))
        owner.open_link(having="How is Bean?")
        owner.answer(WELL)
        expect(owner.page.get_by_text("Nothing you told us worries us today")).to_be_visible()


def the_one_on_call_has_it(site, chromium):
    """By the link of the alert's mail, without a log-in; and what came of it."""
    alert = text_of(site.mail(address_of(VET), having="EMERGENCY Bean"))
    assert "no food for 12.7 h" in alert  # 19:00 to 07:40
    telephone = chromium.new_context().new_page()
    telephone.goto(re.findall(r"http://\S+/a/\S+", alert)[0])
    telephone.get_by_role("button", name="I have it").click()
    telephone.get_by_label("spoken to").check()
    telephone.get_by_role("button", name="Record it").click()
    expect(telephone.get_by_text("spoken to")).to_be_visible()


def a_fortnight_later(site, vet):
    """Two wound reviews and the sign-off. Nobody has answered meanwhile: each silence is a flag to review."""
    for day in (3, 10):
        site.be_at(at("09:00", day=day))
        vet.review_all("Bean")
        vet.look_at_wound("Bean")
    site.be_at(at("09:00", day=14))
    vet.review_all("Bean")
    vet.sign_off("Bean")
