"""Somebody says on the telephone that he wants no messages, or wants them again."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from clinic import clock
from clinic.access import member, roles
from clinic.models import Role
from followup.models import Recipient
from followup.services.owner_page import plans_of
from followup.services.stop import start_again, stop
from followup.services.wrong_person import renew_link


@require_http_methods(["GET", "POST"])
@roles(Role.FRONT_DESK, Role.NURSE, Role.VET)
def recipient_messages(request: HttpRequest, pk: int) -> HttpResponse:
    """What a stop means, and the button that is possible."""
    here = member(request)
    recipient = get_object_or_404(
        Recipient.objects.filter(practice=here.practice).select_related("person", "practice"), pk=pk
    )
    if request.method == "POST":
        if request.POST.get("step") == "link":
            renew_link(recipient, staff=here.staff, now=clock.now())
            messages.success(request, "The link is new. The old one opens nothing any more.")
            return redirect("followup:recipient_messages", pk=recipient.pk)
        changes = {"stop": stop, "start": start_again}
        change = changes.get(request.POST.get("step", ""))
        if change and change(recipient, how=Recipient.How.PHONE, staff=here.staff, now=clock.now()):
            messages.success(request, "Saved.")
        return redirect("followup:recipient_messages", pk=recipient.pk)
    plans = plans_of(recipient).running().order_by("patient__name", "pk")
    context = {"recipient": recipient, "plans": plans, "member": here}
    return render(request, "followup/staff/recipient_messages.html", context)
