"""How often the rules and whoever reviewed a flag gave the same level."""

from __future__ import annotations

import datetime as dt

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from clinic import clock
from clinic.access import member
from followup.services.agreement import agreement as agreement_of

SPANS = (30, 90, 365)
"""Days back from now to choose from."""
USUAL = 90


@require_safe
def agreement(request: HttpRequest) -> HttpResponse:
    """The table of this practice over the last days, and the rules to look at first."""
    here, now = member(request), clock.now()
    asked = request.GET.get("days", "")
    days = next((each for each in SPANS if str(each) == asked), USUAL)
    since = now - dt.timedelta(days=days)
    shown = agreement_of(here.practice, since=since, until=now)
    context = {"shown": shown, "days": days, "spans": SPANS, "since": since, "member": here}
    return render(request, "followup/staff/agreement.html", context)
