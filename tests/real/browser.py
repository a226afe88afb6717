"""Chromium for tests: by CHROMIUM, else the first on PATH that can really be launched."""

from __future__ import annotations

import os
from pathlib import Path

from playwright.sync_api import Browser, Error, sync_playwright

from tests.real.finding import Missing, program

HOW = "set CHROMIUM, or install it (Debian: apt-get install chromium libatomic1 fonts-dejavu-core)"
QUIET = (
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--disable-gpu",
    "--disable-quic",
    "--host-resolver-rules=MAP plain.test 127.0.0.1",
)
"""It asks nobody for anything but our own pages. This machine by the name plain.test is a place without https to it."""


class Chromium:
    """A browser that was launched. Playwright's loop lives in this thread as long as it does."""

    def __init__(self, binary: Path, how: str) -> None:
        """Launch it: only that shows that every library it needs is there."""
        self.how = how
        # The loop of Playwright makes Django believe that this thread is asynchronous; it is not.
        os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "yes"
        self._playwright = sync_playwright().start()
        switches = [*QUIET, *(["--no-sandbox"] if os.geteuid() == 0 else [])]
        try:
            self.browser: Browser = self._playwright.chromium.launch(executable_path=str(binary), args=switches)
        except BaseException:
            self._playwright.stop()
            raise

    def __str__(self) -> str:
        return f"Chromium {self.browser.version} ({self.how})"

    def close(self) -> None:
        """Close it, and end Playwright's loop."""
        self.browser.close()
        self._playwright.stop()
        os.environ.pop("DJANGO_ALLOW_ASYNC_UNSAFE", None)


def find() -> Chromium:
    """A browser to test with; Missing says why there is none."""
    given = os.environ.get("CHROMIUM")
    binary = Path(given) if given else program("chromium", "chromium-browser", "google-chrome")
    if binary is None:
        raise Missing(f"no Chromium on PATH; {HOW}")
    try:
        return Chromium(binary, "CHROMIUM" if given else f"program {binary}")
    except (Error, OSError) as fault:
        raise Missing(f"{binary} could not be launched ({str(fault).strip().splitlines()[0]}); {HOW}") from None
