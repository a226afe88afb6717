"""How sending stands, its switches, the lines above every page, and what became of a first message."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

from playwright.sync_api import Page

from clinic.models import Practice, Role
from followup.models import Count, Gap, Heartbeat, Message, Route
from followup.services.pause import pause
from tests import world
from tests.browser.pages.clinic_site import MONTH_ON, MORNING, ClinicSite
from tests.browser.pages.shown import ADMINISTRATOR, DESK, EMPTY, LONG, VET, Shown, press

S, M, PAGE = "followup:sending", "followup:morning", "/practice/sending/"
TROUBLED = MONTH_ON + dt.timedelta(hours=1)
"""Last of all: what is wrong then is wrong on every page."""
WHY = "The telephone line is being moved to the new building, and whoever answers it is not there before noon. " * 2
Where = Callable[[ClinicSite], str]


def _at(path: str = PAGE) -> Where:
    return lambda _site: path


def _of(patient: str, page: str) -> Where:
    return lambda site: f"/plans/{site.plan(patient).pk}/{page}"


def _address(patient: str) -> Where:
    return lambda site: f"/owners/{site.plan(patient).patient.owner_id}/address/"


def _refused(site: ClinicSite) -> str:
    """Sorrel's first message went no way at all."""
    first = site.plan("Sorrel").messages.filter(purpose=Message.Purpose.WELCOME)
    first.update(state=Message.State.FAILED, last_error="the mail server answered 550")
    return _of("Sorrel", "sheet/")(site)


def _ended_badly(site: ClinicSite) -> str:
    """Some messages of the last days did not go out."""
    practice = site.plan("Biscuit").practice
    rows = list(practice.messages.filter(audience=Message.Audience.OWNER, state=Message.State.SENT).order_by("-pk")[:6])
    ends = [("failed", "the mail server answered 550"), ("parked", "no word"), ("expired", "messages were paused")]
    for row, (state, why) in zip(rows, ends * 2, strict=True):
        Message.objects.filter(pk=row.pk).update(state=state, last_error=why, sent_at=None, due_at=MORNING)
    return PAGE


def _paused(site: ClinicSite) -> str:
    practice = Practice.objects.get(memberships__staff__email="vet@quillbrook.example.org")
    pause(practice, staff=world.staff(practice, Role.ADMINISTRATOR), reason=WHY, now=site.moment)
    return PAGE


def _catching_up(site: ClinicSite) -> str:
    hours = dt.timedelta(hours=1)
    Gap.objects.update(caught_up_at=site.moment)
    Gap.objects.create(kind=Gap.Kind.STOPPED, began_at=site.moment - 9 * hours, ended_at=site.moment - hours / 4)
    Count.objects.one_more("clock_set_back", site.moment)
    Count.objects.one_more("night_sends", site.moment)
    return "/"


def _everything(site: ClinicSite) -> str:
    """Down, held, shut, nobody to alert, catching up and paused at once."""
    hour = dt.timedelta(hours=1)
    Gap.objects.get_or_create(
        kind=Gap.Kind.RESTORED, began_at=site.moment - 8 * hour, defaults={"ended_at": site.moment - 6 * hour}
    )
    Route.objects.update_or_create(
        name="installation:email",
        defaults={
            "failures": 4,
            "since": site.moment - hour,
            "why": "no connection to the mail server (ConnectionRefusedError)",
            "shut_until": site.moment + hour,
        },
    )
    Heartbeat.objects.filter(name="tick").update(at=site.moment - hour)
    return PAGE


def _no_reason(page: Page) -> None:
    page.evaluate("document.querySelector('[name=why]').required = false")
    page.get_by_role("button", name="Pause all messages to owners").click()


SENDING = (
    Shown("sending", S, VET, _at()),
    Shown("sending-front-desk", S, DESK, _at()),
    Shown("sending-nothing-yet", S, EMPTY, _at()),
    Shown("sending-long-names", S, LONG, _at()),
    Shown("sending-pause-without-reason", "followup:pause", ADMINISTRATOR, _at(), does=_no_reason, status=422),
    Shown("first-message-waits", "followup:sheet", DESK, _of("Sorrel", "sheet/")),
    Shown("first-message", "followup:first_message", DESK, _of("Sorrel", "first-message/"), is_html=False),
    Shown("first-message-refused", "followup:sheet", DESK, _refused),
    Shown("owner-address", "followup:owner_address", DESK, _address("Sorrel")),
    Shown("owner-address-faults", "followup:owner_address", DESK, _address("Sorrel"), status=422,
          does=press("Save", email="robin at home", mobile="12")),
    Shown("sending-some-not-sent", S, VET, _ended_badly, at=TROUBLED),
    Shown("sending-catching-up", M, VET, _catching_up, at=TROUBLED),
    Shown("sending-paused", S, VET, _paused, at=TROUBLED),
    Shown("sending-paused-front-desk", S, DESK, _at(), at=TROUBLED),
    Shown("sending-everything-wrong", S, VET, _everything, at=TROUBLED),
    Shown("morning-list-everything-wrong", M, VET, lambda site: _everything(site) and "/", at=TROUBLED),
)  # fmt: skip
