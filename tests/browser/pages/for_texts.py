"""The pages on which a practice reads and changes its texts."""

from __future__ import annotations

from playwright.sync_api import Page

from tests.browser.pages.shown import ADMINISTRATOR, EMPTY, LONG, VET, Shown, press

LIST, TEXT = "followup:texts", "followup:text"
HARD_TO_READ = {
    "body": "Notwithstanding unanticipated circumstances we cordially invite observations regarding {patients}: {link}",
    "short": "🐹 We would be very grateful if you could tell us how {patients} is getting on today, please: {link}",
}


def _at(key: str = ""):
    return lambda _site: f"/practice/texts/{key}"


def _own_words(page: Page) -> None:
    """Saved twice, so that something stood here before; then what is folded is opened."""
    for subject in ("Hello", "Good morning"):
        with page.expect_navigation():
            press("Save", subject=f"{subject}: {{patients}}")(page)
    page.evaluate("for (const folded of document.querySelectorAll('main details')) folded.open = true")


def _on_usual(words: str):
    """Own words for the first of them, which a vet approves."""

    def does(page: Page) -> None:
        page.locator("main textarea").first.fill(words)
        page.locator("main button[value=approve]").first.click()

    return does


TEXTS = (
    Shown("usual", "followup:usual", VET, lambda _site: "/practice/usual/"),
    Shown("usual-none-approved", "followup:usual", EMPTY, lambda _site: "/practice/usual/"),
    Shown("usual-read-only", "followup:usual", ADMINISTRATOR, lambda _site: "/practice/usual/"),
    Shown("usual-too-hard", "followup:usual", EMPTY, lambda _site: "/practice/usual/", status=422,
          does=_on_usual("Notwithstanding considerable postoperative somnolence, reassurance is appropriate.")),
    Shown("texts", LIST, ADMINISTRATOR, _at()),
    Shown("texts-long-names", LIST, LONG, _at()),
    Shown("text", TEXT, VET, _at("dose/")),
    Shown("text-advice", TEXT, ADMINISTRATOR, _at("advice/")),
    Shown("text-looked-at", TEXT, VET, _at("check_in/"), does=press("Look at it", **HARD_TO_READ)),
    Shown("text-faults", TEXT, VET, _at("check_in/"), status=422,
          does=press("Save", subject="{link", body="{0} {patients}", short="{doses}")),
    Shown("text-saved", TEXT, EMPTY, _at("reminder/"), does=_own_words),
    Shown("text-tried", TEXT, VET, _at("goodbye/"), does=press("Send me a test e-mail")),
    Shown("text-long-names", TEXT, LONG, _at("welcome/")),
)  # fmt: skip
