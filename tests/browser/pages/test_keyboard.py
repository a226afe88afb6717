"""The main pages by keyboard alone: every control is reached, in the order of the page, seen, and has a name."""

from __future__ import annotations

import pytest

from tests.browser.pages.clinic_site import MORNING
from tests.browser.pages.for_owners import FOR_OWNERS
from tests.browser.pages.for_staff import FOR_STAFF
from tests.browser.pages.pictures import WIDTHS

pytestmark = [pytest.mark.browser, pytest.mark.minutes]
MAIN = {
    "morning-list-demo", "patient-emergency", "enrol", "by-phone-what-if", "review-flag", "alert-acknowledged",
    "log-in", "owner-two-animals", "owner-ask-appetite", "owner-ask-last_ate_at", "owner-dose", "owner-photo",
    "owner-for-a-vet", "revise", "record-dose",
}  # fmt: skip
EXAMPLES = [each for each in (*FOR_STAFF, *FOR_OWNERS) if each.name in MAIN]
CONTROLS = """() => {
  const kinds = 'a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex="0"]';
  const all = [...document.querySelectorAll(kinds)];
  const shown = all.filter(e => e.checkVisibility() && !e.disabled && e.tabIndex >= 0);
  const groups = new Set();
  window.__controls = shown.filter(e => {  // one of a group of radio buttons takes the focus: the chosen, or the first
    if (e.type !== 'radio') return true;
    const of = shown.filter(o => o.type === 'radio' && o.name === e.name && o.form === e.form);
    return e === (of.find(o => o.checked) || of[0]);
  });
  return window.__controls.map(e => e.outerHTML.slice(0, 100));
}"""
JUMPS = """() => {
  const top = e => e.getBoundingClientRect().top + scrollY;
  const all = window.__controls.filter(e => !e.closest('.demo-bar, .phone-bar'));
  return all.filter((e, i) => i && top(e) < top(all[i - 1]) - 60).map(e => e.outerHTML.slice(0, 100));
}"""
"""Controls that stand higher up than the one before them: in one column the order goes down. Bars stick to the edge."""
FOCUSED = """() => {
  const e = document.activeElement, style = getComputedStyle(e), box = e.getBoundingClientRect();
  const x = Math.min(Math.max(box.x + box.width / 2, 0), innerWidth - 1), y = box.y + Math.min(box.height / 2, 20);
  const top = document.elementFromPoint(x, y);
  const mine = [e, ...(e.labels || [])];
  const uncovered = top && (top.contains(e) || mine.some(each => each.contains(top)));
  return {place: window.__controls.indexOf(e), html: e.outerHTML.slice(0, 100), uncovered: Boolean(uncovered),
    outline: style.outlineStyle === 'none' ? 0 : parseFloat(style.outlineWidth)};
}"""


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("example", EXAMPLES, ids=lambda each: each.name)
def test_by_keyboard(example, width, clinic_site_running, browsers, settings):
    assert clinic_site_running.moment == MORNING or not example.who, "pages of staff are looked at in the morning"
    settings.DEMO = example.demo
    page = browsers.of(example.who, width).page
    page.goto(clinic_site_running.address + example.path(clinic_site_running))
    example.does(page)
    page.locator("body").evaluate(
        "body => { body.tabIndex = -1; body.focus() }"
    )  # before everything, whatever has taken the focus
    controls = page.evaluate(CONTROLS)
    assert width > WIDTHS[0] or page.evaluate(JUMPS) == []
    faults: list[str] = []
    visited: list[int] = []
    for _ in range(5 * len(controls)):  # the parts of a date are stops of their own
        page.keyboard.press("Tab")
        now = page.evaluate(FOCUSED)
        if now["place"] < 0 or now["place"] in visited[:-1]:
            break
        if now["place"] not in visited:
            visited.append(now["place"])
            faults += _faults(page, now)

    assert not faults, "\n".join(faults)
    assert [controls[each] for each in visited] == controls


def _faults(page, now) -> list[str]:
    found = []
    if now["outline"] < 2:
        found.append(f"no visible focus: {now['html']}")
    if not now["uncovered"]:
        found.append(f"something covers it while it has the focus: {now['html']}")
    spoken = page.locator(":focus").aria_snapshot().splitlines()[0]
    if '"' not in spoken and ":" not in spoken.rstrip(":"):
        found.append(f"no name for those who hear the page ({spoken}): {now['html']}")
    return found


def test_the_first_stop_leads_past_the_head_of_the_page(clinic_site_running, browsers):
    page = browsers.of(EXAMPLES[0].who or "vet@quillbrook.example.org", 1280).page
    page.goto(f"{clinic_site_running.address}/tray/")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")

    assert page.locator(":focus").evaluate("e => e.closest('main') !== null")
