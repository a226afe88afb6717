"""The first page of every morning."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from clinic import clock
from clinic.access import member
from followup.services.morning_list import morning_list


@require_safe
def morning(request: HttpRequest) -> HttpResponse:
    """Whom this practice must act on, call, confirm, look at or reach; worst first."""
    here, now = member(request), clock.now()
    shown = morning_list(here.practice, now=now)
    return render(request, "followup/staff/morning.html", {"list": shown, "member": here, "now": now})
