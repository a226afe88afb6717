"""What an owner answers on a bad net: kept on the phone, sent by itself, counted once; and the same without script."""

from __future__ import annotations

import re
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import BrowserContext, FilePayload, Page, Route, expect

from clinic.services.emergency_pages import write_emergency_pages
from followup.models import Photo, Reply
from followup.services.raw_answers import entries_of
from tests.owner_world import EVENING, GOOD, Home, move_clock, pip_at_home
from tests.wounds import jpeg, wound

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
SMALL = {"width": 360, "height": 740}
SLOW_3G = {"offline": False, "latency": 400, "downloadThroughput": 50_000, "uploadThroughput": 50_000}
"""Milliseconds, bytes a second: what browsers' own tools call slow 3G (400 kbit/s)."""
FIRST_VIEW = 100_000  # bytes
NO_NET = "There is no net at the moment"


@pytest.fixture
def pip(settings, tmp_path) -> Home:
    settings.MEDIA_ROOT = tmp_path / "photos"
    move_clock(EVENING)
    return pip_at_home()


@pytest.fixture
def phone(chromium):
    context = chromium.new_context(viewport=SMALL, is_mobile=True, has_touch=True)
    yield context
    context.close()


def at_the_first_question(phone: BrowserContext, live_server, pip: Home) -> Page:
    page = phone.new_page()
    page.goto(live_server.url + pip.home)
    page.get_by_role("link", name="Tell us how Pip is").click()
    expect(page.locator("button.answer").first).to_be_visible()
    return page


def tap(page: Page) -> tuple[str, tuple[str, ...]]:
    """Give a good answer: the question and the answer."""
    key = page.locator('input[name="question"]').first.input_value()
    answer = GOOD[key][0]
    page.locator(f'button.answer[value="{answer}"]').click()
    return key, (answer,)


def kept() -> list[tuple[str, tuple[str, ...]]]:
    return [(each.key, each.values) for reply in Reply.objects.all() for each in entries_of(reply)]


def test_an_answer_without_a_net_is_kept_said_and_sent_by_itself(phone, live_server, pip):
    page = at_the_first_question(phone, live_server, pip)
    phone.set_offline(True)
    told = tap(page)

    expect(page.locator("#kept")).to_contain_text(NO_NET)
    expect(page.locator("a.number").first).to_be_visible()
    assert kept() == []

    phone.set_offline(False)
    expect(page.locator('input[name="question"]').first).not_to_have_value(told[0])
    expect(page.locator("#kept")).to_have_text("Sent.")
    assert kept() == [told]


def test_a_tab_that_is_closed_in_a_dead_spot_loses_nothing(phone, live_server, pip):
    page = at_the_first_question(phone, live_server, pip)
    phone.set_offline(True)
    told = tap(page)
    expect(page.locator("#kept")).to_contain_text(NO_NET)
    page.close()
    phone.set_offline(False)

    again = phone.new_page()
    again.goto(live_server.url + pip.home)

    expect(again.locator("#kept")).to_have_text("Sent.")
    assert kept() == [told]


def test_what_arrived_and_was_not_answered_is_sent_twice_and_counts_once(phone, live_server, pip):
    page = at_the_first_question(phone, live_server, pip)
    lost: list[str] = []

    def lose_the_first(route: Route) -> None:
        if route.request.method == "POST" and not lost:
            lost.append(route.request.url)
            route.fetch(max_redirects=0)
            route.abort()
        else:
            route.continue_()

    page.route("**/ask/**", lose_the_first)
    told = tap(page)

    expect(page.locator('input[name="question"]').first).not_to_have_value(told[0], timeout=15_000)
    assert (len(lost), kept()) == (1, [told])


def test_a_server_that_cannot_take_it_now_is_asked_again(phone, live_server, pip):
    page = at_the_first_question(phone, live_server, pip)
    refused: list[str] = []

    def refuse_the_first(route: Route) -> None:
        if route.request.method == "POST" and not refused:
            refused.append(route.request.url)
            route.fulfill(status=503, body="")
        else:
            route.continue_()

    page.route("**/ask/**", refuse_the_first)
    tap(page)

    expect(page.locator("#kept")).to_contain_text("It cannot be taken just now")
    expect(page.locator("#kept")).to_have_text("Sent.", timeout=15_000)
    assert len(kept()) == 1


def test_words_that_are_being_written_survive_a_closed_tab_and_go_when_they_are_sent(phone, live_server, pip):
    first = phone.new_page()
    first.goto(f"{live_server.url}{pip.home}note/")
    first.get_by_label("Your words").fill("He sits in the corner 🐹")
    first.close()
    page = phone.new_page()
    page.goto(f"{live_server.url}{pip.home}note/")
    expect(page.get_by_label("Your words")).to_have_value("He sits in the corner 🐹")
    page.get_by_role("button", name="Send").click()
    expect(page.get_by_role("heading", name="Thank you, your words are saved")).to_be_visible()

    page.goto(f"{live_server.url}{pip.home}note/")
    expect(page.get_by_label("Your words")).to_have_value("")
    assert Reply.objects.get().text == "He sits in the corner 🐹"


def test_the_focus_goes_to_the_next_question(phone, live_server, pip):
    page = at_the_first_question(phone, live_server, pip)
    tap(page)

    expect(page.locator("#kept")).to_have_text("Sent.")
    expect(page.locator("h1")).to_be_focused()
    page.go_back()
    expect(page.get_by_role("link", name="Go on where you stopped")).to_be_visible()


@pytest.mark.parametrize("script", [True, False])
def test_a_whole_check_in_with_and_without_script(chromium, live_server, pip, script):
    phone = chromium.new_context(viewport=SMALL, java_script_enabled=script)
    page = at_the_first_question(phone, live_server, pip)
    asked = []
    while "/ask/" in page.url:
        key = page.locator('input[name="question"]').first.input_value()
        asked.append(key)
        value = GOOD.get(key, ["not_sure"])[0]
        if page.locator(f'button.answer[value="{value}"]').count():
            page.locator(f'button.answer[value="{value}"]').click()
        else:
            page.get_by_role("button", name=re.compile("Skip|Continue")).last.click()
        page.wait_for_function(
            "key => document.querySelector('input[name=question]')?.value !== key", arg=key
        ) if script else page.wait_for_load_state()

    expect(page.get_by_text("Your answers are saved.")).to_be_visible()
    assert [key for key, _values in kept()] == asked
    phone.close()


def test_the_first_view_is_light_ours_alone_and_usable_on_a_slow_net(phone, live_server, pip):
    page = phone.new_page()
    phone.new_cdp_session(page).send("Network.emulateNetworkConditions", SLOW_3G)
    weights: dict[str, int] = {}
    page.on("response", lambda answer: weights.__setitem__(answer.url, len(answer.body())))
    page.goto(live_server.url + pip.home)
    page.wait_for_load_state("networkidle")

    assert {urlsplit(url).netloc for url in weights if not url.startswith("data:")} == {
        urlsplit(live_server.url).netloc
    }
    assert sum(weights.values()) <= FIRST_VIEW, weights
    page.get_by_role("link", name="Tell us how Pip is").click()
    tap(page)
    expect(page.locator("#kept")).to_have_text("Sent.", timeout=15_000)


def test_photos_are_made_smaller_and_go_one_by_one_when_there_is_a_net_again(phone, live_server, pip):
    page = phone.new_page()
    page.goto(f"{live_server.url}{pip.home}photo/{pip.plan.pk}/one/")
    large = jpeg(wound().resize((4000, 3000)))
    phone.set_offline(True)
    files = [FilePayload(name=f"{place}.jpg", mimeType="image/jpeg", buffer=large) for place in range(3)]
    page.set_input_files("#photo", files)
    page.get_by_role("button", name="Send the photo").click()

    expect(page.locator("#kept")).to_have_text("3 of 3 photos still to send")
    page.close()
    phone.set_offline(False)
    again = phone.new_page()
    again.goto(live_server.url + pip.home)

    expect(again.locator("#kept")).to_have_text("Sent.")
    sizes = Photo.objects.values_list("width", "height")
    assert list(sizes) == [(1600, 1200)] * 3


def tell_words_and_a_photo_without_a_net(phone: BrowserContext, home: str, pip: Home) -> None:
    """Both kept on the phone, the photo first; the tabs are closed, and there is a net no more."""
    camera, pen = phone.new_page(), phone.new_page()
    camera.goto(f"{home}photo/{pip.plan.pk}/one/")
    pen.goto(f"{home}note/")
    phone.set_offline(True)
    camera.set_input_files("#photo", [FilePayload(name="1.jpg", mimeType="image/jpeg", buffer=jpeg(wound()))])
    camera.get_by_role("button", name="Send the photo").click()
    expect(camera.locator("#kept")).to_have_text("1 of 1 photos still to send")
    pen.get_by_label("Your words").fill("It looks odd.")
    pen.get_by_role("button", name="Send").click()
    expect(pen.locator("#kept")).to_contain_text(NO_NET)
    camera.close()
    pen.close()


def test_words_go_before_photos(phone, live_server, pip):
    tell_words_and_a_photo_without_a_net(phone, live_server.url + pip.home, pip)
    posted: list[str] = []

    def refuse_the_first(route: Route) -> None:
        posted.append(route.request.url.removeprefix(live_server.url + pip.home))
        if len(posted) == 1:
            route.fulfill(status=503, body="")
        else:
            route.continue_()

    page = phone.new_page()
    for kind in ("note", "photo"):
        page.route(f"**/{kind}/**", refuse_the_first)
    phone.set_offline(False)
    page.goto(live_server.url + pip.home)

    for _ in range(150):  # all are under way by themselves; the first try is made again after three seconds
        if len(posted) > 2:
            break
        page.wait_for_timeout(100)
    assert posted == ["note/", "note/", f"photo/{pip.plan.pk}/one/"]


def test_where_there_is_no_net_at_all_the_numbers_are_there(phone, live_server, pip, settings, tmp_path):
    settings.DATA_DIR = tmp_path
    write_emergency_pages(now=EVENING)
    page = phone.new_page()
    page.goto(live_server.url + pip.home)
    page.wait_for_function(
        "async path => (await navigator.serviceWorker.ready) && Boolean(await caches.match(path))",
        arg=f"/o/{pip.practice.slug}/no-net/",
    )
    page.reload()
    phone.set_offline(True)
    page.goto(live_server.url + pip.home)

    expect(page.get_by_role("heading", name=f"Phone {pip.practice.name}")).to_be_visible()
    expect(page.locator("a.number").first).to_be_visible()
    assert "Pip" not in page.content()


def test_without_https_where_a_phone_gives_a_page_less_it_still_works(chromium, live_server, pip, settings):
    settings.ALLOWED_HOSTS = ["*"]
    url = live_server.url.replace("localhost", "plain.test")
    phone = chromium.new_context(viewport=SMALL, is_mobile=True, has_touch=True)
    try:
        page = phone.new_page()
        page.goto(url + pip.home)
        assert page.evaluate("[isSecureContext, 'serviceWorker' in navigator, 'caches' in window]") == [False] * 3
        page.get_by_role("link", name="Tell us how Pip is").click()
        expect(page.locator("button.answer").first).to_be_visible()
        phone.set_offline(True)
        told = tap(page)
        expect(page.locator("#kept")).to_contain_text(NO_NET)
        phone.set_offline(False)
        expect(page.locator("#kept")).to_have_text("Sent.")
        page.goto(f"{url}{pip.home}photo/{pip.plan.pk}/one/")
        page.set_input_files("#photo", [FilePayload(name="1.jpg", mimeType="image/jpeg", buffer=jpeg(wound()))])
        page.get_by_role("button", name="Send the photo").click()
        expect(page.get_by_role("heading", name="Thank you, the photo has arrived")).to_be_visible()
    finally:
        phone.close()

    assert (kept(), Photo.objects.count()) == ([told], 1)
