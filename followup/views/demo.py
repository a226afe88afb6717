"""The demo's bar. Outside the demo this page does not exist."""

from __future__ import annotations

import datetime as dt

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from clinic import clock
from clinic.access import member
from followup.services.demo_clock import move_on

STEPS = {"hour": dt.timedelta(hours=1), "six": dt.timedelta(hours=6), "next": None}


@require_POST
def clock_on(request: HttpRequest) -> HttpResponse:
    """Move the demo's clock on and come back to the page."""
    if not settings.DEMO:
        raise Http404
    member(request)
    step = request.POST.get("step", "")
    if step in STEPS:
        move_on(STEPS[step], now=clock.now())
    back = request.POST.get("back", "")
    safe = url_has_allowed_host_and_scheme(back, allowed_hosts=None)
    return redirect(back if safe else "followup:morning")
