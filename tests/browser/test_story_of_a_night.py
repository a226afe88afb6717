"""A story: an evening without food, silence, the question before bed, an emergency at sleep."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.browser.cast import DESK, VET, address_of
from tests.browser.people import OWNER, WELL, Owner, enrol, log_in
from tests.owner_world import NIGHT_PHONE
from tests.sites.site import text_of
from tests.world import at

pytestmark = pytest.mark.browser


def test_nothing_eaten_by_bedtime_and_then_silence(site, chromium):
    site.be_at(at("16:28"))
    enrol(log_in(chromium, site, DESK), {"consent-agrees": ["to_be_contacted", "wake_me_at_night"]})
    owner = Owner(chromium, site)

    site.be_at(at("18:30"))
    owner.open_link(having="How is Bean?")
    owner.answer({**WELL, "appetite": "none", "last_ate_at": "17:00"})
    expect(owner.page.get_by_text("We ask you again today at 20:30")).to_be_visible()
    assert site.mails(address_of(VET)) == []

    site.be_at(at("20:46"))  # asked again at 20:30, and before bed
    site.mail(OWNER, having="How is Bean?", after=1)  # nobody answers

    site.be_at(at("21:01"))  # 12 h without food would be reached at 05:00, before anybody wakes
    before_bed = text_of(site.mail(OWNER, having="at 22:00 at the latest"))
    assert "0163" in before_bed

    site.be_at(at("22:01"))  # asleep: the last moment at which somebody can act
    alert = site.mail(address_of(VET), having="EMERGENCY Bean")
    assert "Kim Example" in text_of(alert)
    site.mail(OWNER, having="Phone a vet now")
    owner.page.goto(owner.home)
    assert owner.page.locator("a.number").first.get_attribute("href") == f"tel:{NIGHT_PHONE}"

    site.be_at(at("22:17"))  # nobody has said that he has it
    site.mail(address_of(VET), having="EMERGENCY Bean", after=1)
