"""The pages on which a practice keeps its rota, and those on which an owner says whether he reached a vet."""

from __future__ import annotations

from playwright.sync_api import Page

from clinic.models import OnCallShift
from tests.browser.pages.shown import ADMINISTRATOR, DESK, EMPTY, LONG, NOBODY, VET, Shown, press

ROTA, SHIFT, REACHED = "followup:rota", "followup:shift", "followup:owner_reached_vet"
REACHED_ONE = "Yes, a vet has seen or advised us"
NIGHT = {"day": "2026-11-27", "starts": "18:30", "ends": "08:00", "weeks": "3"}


def _at(then: str = ""):
    return lambda _site: f"/practice/rota/{then}"


def _shift(practice: str):
    def path(_site) -> str:
        found = OnCallShift.objects.filter(practice__slug=practice).earliest("pk")
        return f"/practice/rota/shifts/{found.pk}/"

    return path


def _put_on_call(page: Page) -> None:
    """Three Friday nights: the other nights are holes. Once for all widths and colours."""
    if page.get_by_text("called first").count():
        return
    page.locator('[name="who"]').select_option(index=1)
    page.locator('[name="ways"]').select_option("email")  # who works there has no mobile
    press("Put on call", **NIGHT)(page)


def _reached(then: str = ""):
    return lambda site: f"{site.home('Teasel')}reached-a-vet/{site.plan('Teasel').pk}/{then}"


def _yes(page: Page) -> None:
    """Once for all widths: after a yes there is no button any more."""
    if page.get_by_role("button", name=REACHED_ONE).count():
        press(REACHED_ONE)(page)


ROTAS = (
    Shown("rota", ROTA, VET, _at()),
    Shown("rota-looked-at-by-the-desk", ROTA, DESK, _at()),
    Shown("rota-no-night-cover", ROTA, EMPTY, _at()),
    Shown("rota-with-holes", ROTA, EMPTY, _at(), does=_put_on_call),
    Shown("rota-later", ROTA, ADMINISTRATOR, _at("?from=2026-12-21")),
    Shown(
        "rota-faults", ROTA, VET, _at(), status=422, does=press("Put on call", day="", starts="", ends="", weeks="99")
    ),
    Shown(
        "rota-date-faults",
        ROTA,
        VET,
        _at(),
        status=422,
        does=press("Add", **{"days-first": "2020-01-01", "days-note": "New Year"}),
    ),
    Shown("rota-long-names", ROTA, LONG, _at()),
    Shown("shift", SHIFT, VET, _shift("quillbrook")),
    Shown("shift-nobody-chosen", SHIFT, VET, _shift("quillbrook"), does=press("Save"), status=422),
)
AFTER_A_NIGHT = (
    Shown("owner-reached-a-vet", "followup:owner", NOBODY, lambda site: site.home("Teasel")),
    Shown("owner-reached-a-vet-alone", REACHED, NOBODY, _reached()),
    Shown("owner-reached-no-vet-yet", REACHED, NOBODY, _reached(), does=press("No, not yet")),
    Shown("owner-reached-a-vet-thanks", REACHED, NOBODY, _reached(), does=_yes),
)
