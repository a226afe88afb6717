"""What must not happen while a page is open, and what must not stand in it: each finding says where."""

from __future__ import annotations

import json
import re
from urllib.parse import urlsplit

from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import BrowserContext, ConsoleMessage, Request, Response

VIOLATED = """
window.__violations = [];
document.addEventListener('securitypolicyviolation', e => window.__violations.push(
  `${e.violatedDirective} ${e.blockedURI} ${e.sample}`));
"""
INLINE = re.compile(r"<style\b|<script\b(?![^>]*\bsrc=)|<[^>]*\s(?:style|on[a-z]+)\s*=", re.IGNORECASE)
"""A style or a script inside the page itself, which the policy forbids and no browser would run."""
QUOTED = re.compile(r"""(?<==)("[^"]*"|'[^']*')""")
AXE = {"resultTypes": ["violations"], "rules": {"target-size": {"enabled": True}}}
"""Every rule that axe has on by itself, best practice too; and that targets have 24 px (WCAG 2.2), which it has off."""
SIDEWAYS = """() => {
  const room = document.documentElement.clientWidth, all = document.documentElement.scrollWidth;
  if (all <= room) return [];
  const reach = e => Math.round(e.getBoundingClientRect().right);
  const scrolls = e => { for (let p = e.parentElement; p && p !== document.body; p = p.parentElement)
    if (getComputedStyle(p).overflowX !== 'visible') return true; return false };
  const wide = [...document.querySelectorAll('body *')].filter(e => reach(e) > room + 1 && !scrolls(e));
  return [`${all} px in ${room} px`, ...wide.slice(-3).map(e => `${e.outerHTML.slice(0, 120)} reaches ${reach(e)} px`)];
}"""
FLOW = """() => { for (const each of document.querySelectorAll('body *'))
  if (getComputedStyle(each).position === 'sticky') each.style.position = 'static' }"""
CLIPPED = """() => [...document.querySelectorAll('button, .button, a, label, h1, h2, td, th, dd')]
  .filter(e => e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 1 && getComputedStyle(e).display !== 'inline')
  .map(e => `${e.outerHTML.slice(0, 120)} holds ${e.scrollWidth} px in ${e.clientWidth} px`)"""


def _is_sent_by_script(request: Request) -> bool:
    """A form that a script has sent: what comes back is shown as a page, after a redirect too."""
    first = request
    while first.redirected_from is not None:
        first = first.redirected_from
    return first.method == "POST" and first.resource_type == "fetch"


class Watch:
    """One page under watch. `findings` are sentences; a page without one is in order."""

    def __init__(self, context: BrowserContext, address: str) -> None:
        """`address`: of the one server that may be asked for anything."""
        self.host = urlsplit(address).netloc
        self.page = context.new_page()
        self.page.add_init_script(VIOLATED)
        self.begin()
        self.page.on("console", self._said)
        self.page.on("pageerror", lambda fault: self.findings.append(f"script failed: {fault}"))
        self.page.on("request", lambda request: self._asked(request.url))
        self.page.on("response", self._answered)
        self.page.on("requestfailed", lambda request: self.findings.append(f"no answer: {request.url}"))

    def begin(self, *, whole: bool = True) -> None:
        """From here on, another page is looked at in the same window; not `whole`: a file, or a piece of a page."""
        self.findings: list[str] = []
        # Only a page can say that it has no icon.
        self.status = 0
        self._may_fail: set[str] = set() if whole else {f"http://{self.host}/favicon.ico"}

    def _said(self, message: ConsoleMessage) -> None:
        url = str(message.location.get("url"))
        if message.type in {"error", "warning"} and not ("Failed to load" in message.text and url in self._may_fail):
            self.findings.append(f"console: {message.text} ({url})")

    def _asked(self, url: str) -> None:
        parts = urlsplit(url)
        if parts.scheme in {"http", "https", "ws", "wss"} and parts.netloc != self.host:
            self.findings.append(f"another host is asked: {url}")

    def _answered(self, response: Response) -> None:
        if response.request.is_navigation_request() or _is_sent_by_script(response.request):
            self.status = response.status
            self._may_fail.add(response.url)  # its status is looked at by itself
            if "text/html" in response.headers.get("content-type", ""):
                self._has_policy(response)
        elif response.status >= 400 and response.url not in self._may_fail:
            self.findings.append(f"{response.status}: {response.url}")

    def _has_policy(self, response: Response) -> None:
        policy = response.headers.get("content-security-policy", "")
        if "default-src 'none'" not in policy or "unsafe" in policy:
            self.findings.append(f"no strict policy of content: “{policy}”")

    def look_at_source(self) -> None:
        """No inline script or style in the text as it came."""
        html = QUOTED.sub(lambda quoted: quoted[0].replace(">", " "), self.page.content())
        self.findings += [f"inline: {found[0][:100]}" for found in INLINE.finditer(html)]

    def look_at_policy(self) -> None:
        """No script, style or address that the browser has refused."""
        violated = self.page.evaluate("window.__violations")
        self.findings += [f"against the policy of content: {each}" for each in violated]

    def let_everything_flow(self) -> None:
        """What sticks to the window's edge would cover something in a picture of the whole page."""
        self.page.evaluate(FLOW)

    def look_at_shape(self, where: str) -> None:
        """Nothing sticks out to the side, and no control is too small for its words."""
        for finding in (*self.page.evaluate(SIDEWAYS), *self.page.evaluate(CLIPPED)):
            self.findings.append(f"{where}, sideways: {finding}")

    def look_at_shape_at(self, width: int) -> None:
        """The same in a window of that width, which is then as wide as before."""
        size = self.page.viewport_size
        assert size is not None
        self.page.set_viewport_size({"width": width, "height": size["height"]})
        self.look_at_shape(f"{width} px")
        self.page.set_viewport_size(size)

    def look_with_axe(self, where: str) -> None:
        """Whatever axe finds, with rule and element."""
        if not self.page.evaluate("'axe' in window"):
            self.page.evaluate(AXE_SCRIPT)
        for found in self.page.evaluate(f"axe.run(document, {json.dumps(AXE)}).then(found => found.violations)"):
            for node in found["nodes"]:
                why = " ".join(node.get("failureSummary", "").split())
                self.findings.append(f"{where}, axe {found['id']}: {node['target']} {why} {node['html'][:120]}")
