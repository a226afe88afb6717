"""What became of the first message, by itself: a piece of a page, asked for again and again while it is on its way."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from clinic import clock
from clinic.access import member
from followup.services.first_message import first_messages, is_settled
from followup.views.found import plan_of


@never_cache
@require_safe
def first_message(request: HttpRequest, pk: int) -> HttpResponse:
    """The lines that stand on the sheet's and on the patient's page."""
    plan, now = plan_of(member(request), pk), clock.now()
    fates = first_messages(plan, now=now)
    context = {"plan": plan, "fates": fates, "settled": is_settled(fates)}
    return render(request, "followup/staff/_first_message_lines.html", context)
