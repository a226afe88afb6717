"""Every page of the program, by name, from the URL list itself: a test that goes through them misses none."""

from __future__ import annotations

from collections.abc import Iterator

from django.http.response import HttpResponseBase
from django.urls import URLPattern, URLResolver, get_resolver


def named(patterns: list[URLPattern | URLResolver], space: str = "") -> Iterator[tuple[str, URLPattern]]:
    """Each page under these patterns, with its name."""
    for pattern in patterns:
        if isinstance(pattern, URLResolver):
            inner = f"{space}{pattern.namespace}:" if pattern.namespace else space
            yield from named(pattern.url_patterns, inner)
        else:
            yield f"{space}{pattern.name}", pattern


PAGES = dict(named(get_resolver().url_patterns))
POST_ONLY = {
    "followup:confirm", "followup:take_back", "followup:seen", "followup:go_on", "followup:acknowledge",
    "followup:demo_clock", "followup:pause", "followup:resume", "followup:confirm_restored", "clinic:log-out",
    "followup:usual_day",
}  # fmt: skip
"""Pages that answer a GET with 405, of whoever's record: buttons on other pages lead there."""

ONWARDS = {"followup:owner_all"}
"""Addresses that lead on to another page and show none of their own."""

FILES = {
    "followup:sheet_pdf", "followup:owner_for_a_vet_file", "followup:owner_sheet", "followup:owner_worker",
}  # fmt: skip
"""What a browser saves or hands to another program: no page of ours."""


def text_of(response: HttpResponseBase) -> str:
    """A page on one line, for words that a template may break anywhere."""
    return " ".join(getattr(response, "content", b"").decode().split())
