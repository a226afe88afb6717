"""The tray: exactly what each owner gets, and the owner's link to open."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from clinic.access import member
from followup.services.tray import letter_of, messages_of

PAGE = 50


@require_safe
def tray(request: HttpRequest) -> HttpResponse:
    """The practice's messages, newest first."""
    here = member(request)
    page = Paginator(messages_of(here.practice), PAGE).get_page(request.GET.get("page"))
    return render(request, "followup/staff/tray.html", {"page": page, "member": here})


@require_safe
def tray_message(request: HttpRequest, pk: int) -> HttpResponse:
    """One message as its reader gets it."""
    message = get_object_or_404(messages_of(member(request).practice), pk=pk)
    return render(request, "followup/staff/tray_message.html", {"message": message, "letter": letter_of(message)})
