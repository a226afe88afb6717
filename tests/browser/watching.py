"""A browser that notices what a visitor never should: console errors, broken policies, other hosts, axe's findings."""

from __future__ import annotations

import re
from collections.abc import Iterator
from urllib.parse import urlsplit

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import BrowserContext, Page

VIOLATIONS = """
window.brokenPolicies = [];
document.addEventListener("securitypolicyviolation", event =>
  window.brokenPolicies.push(event.violatedDirective + " " + event.blockedURI));
"""
INLINE = re.compile(r"<script(?![^>]*\ssrc=)|<style|\sstyle=|\son[a-z]+=", re.IGNORECASE)
"""What the policy forbids, seen in the source even where no browser would run it."""
AXE = Axe()


class Watched:
    """One page that writes down its faults."""

    def __init__(self, context: BrowserContext, host: str) -> None:
        """`host`: ours, with its port."""
        self.page: Page = context.new_page()
        self.page.set_default_timeout(10_000)
        self.page.add_init_script(VIOLATIONS)
        self._host, self._heard = host, list[str]()
        self.page.on("console", lambda said: self._console(said.type, said.text))
        self.page.on("pageerror", lambda error: self._heard.append(f"script: {error}"))
        self.page.on("request", lambda request: self._request(request.url))
        self.page.on("response", lambda answer: self._response(answer.url, answer.status))

    def faults(self, *, axe: bool) -> list[str]:
        """Everything wrong with the page as it now stands."""
        found = [*self._heard, *self._seen(), *(self._axe() if axe else [])]
        self._heard.clear()
        return found

    def _console(self, kind: str, text: str) -> None:
        # Chromium says of each page that is answered with 4xx that it failed to load; the status is asserted instead.
        if kind in {"error", "warning"} and "the server responded with a status of" not in text:
            self._heard.append(f"console: {text}")

    def _request(self, url: str) -> None:
        parts = urlsplit(url)
        if parts.scheme not in {"data", "blob"} and parts.netloc != self._host:
            self._heard.append(f"asks another host: {url}")

    def _response(self, url: str, status: int) -> None:
        if status >= 400 and re.search(r"\.(css|js|png|jpe?g|svg|woff2?|ico)$", urlsplit(url).path):
            self._heard.append(f"missing: {url} ({status})")

    def _seen(self) -> Iterator[str]:
        for broken in self.page.evaluate("window.brokenPolicies"):
            yield f"policy: {broken}"
        for inline in INLINE.findall(self.page.content()):
            yield f"inline: {inline}"
        wide = self.page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        if wide > 0:
            yield f"{wide} px wider than the screen"

    def _axe(self) -> Iterator[str]:
        for violation in AXE.run(self.page).response["violations"]:
            for node in violation["nodes"]:
                yield f"axe, {violation['id']}: {' '.join(map(str, node['target']))}: {violation['help']}"
