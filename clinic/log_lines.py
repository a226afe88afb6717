"""Log lines without the codes of links: whoever reads a log must not be able to open an owner's page with it."""

from __future__ import annotations

import logging
import re

CODES = re.compile(r"(/o/[^/\s]+/|/a/|/welcome/)[^/\s?#\"'<>]+")
"""The addresses whose last part is the authority: an owner's page, an alert, a first password (urls.py)."""


def without_codes(text: str) -> str:
    """The same text, with every code taken out."""
    return CODES.sub(r"\1…", text)


class WithoutCodes(logging.Formatter):
    """Django logs the path of each page that was not found or broke; a traceback may hold one too."""

    def format(self, record: logging.LogRecord) -> str:
        """The whole line, traceback and all, with no code in it."""
        return without_codes(super().format(record))
