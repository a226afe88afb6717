"""The enrolment page, filled in as a front desk does it."""

from __future__ import annotations

from playwright.sync_api import Page

from tests.forms.typed import typed

TODAY = "2026-11-24"


def fill_in(page: Page, **changes: object) -> None:
    """Type everything of tests/forms/typed.py into the page, with these changes."""
    for name, value in typed(**changes).items():
        _fill(page, name, str(value).replace("2025-03-10", TODAY) if not isinstance(value, list) else value)


def _fill(page: Page, name: str, value: str | list[str]) -> None:
    field = page.locator(f'[name="{name}"]')
    if not field.count() or field.first.get_attribute("type") == "hidden":
        return
    field.first.evaluate("e => { const folded = e.closest('details'); if (folded) folded.open = true }")
    kind = field.first.evaluate("e => e.type")
    if kind in {"checkbox", "radio"}:
        for each in value if isinstance(value, list) else [value] if value else []:
            (field if each == "on" else page.locator(f'[name="{name}"][value="{each}"]')).check()
    elif kind == "select-one":
        field.select_option(str(value))
    else:
        field.fill(str(value))
