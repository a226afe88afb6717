"""An owner's clock: where he lives, when he sleeps, when nobody is with the animal."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from clinic import clock
from clinic.access import member, roles
from clinic.models import Owner, Role
from followup.domain.terms import FollowUpError
from followup.forms.hours import HoursPage
from followup.models import Plan
from followup.services.owner_moves import owner_moves


@require_http_methods(["GET", "POST"])
@roles(Role.FRONT_DESK, Role.NURSE, Role.VET)
def owner_hours(request: HttpRequest, pk: int) -> HttpResponse:
    """Every running plan of this owner is worked out anew from now on."""
    here = member(request)
    owner = get_object_or_404(Owner.objects.of(here.practice), pk=pk)
    page = HoursPage(owner, request.POST if request.method == "POST" else None)
    if page.checked and page.is_valid():
        try:
            changed = owner_moves(owner, page.hours(), staff=here.staff, now=clock.now())
        except FollowUpError as fault:
            page.faults.append(str(fault))
        else:
            messages.success(request, f"Saved. Plans worked out anew: {changed}.")
            return redirect("followup:owner_hours", pk=owner.pk)
    owner.refresh_from_db()
    plans = Plan.objects.running().filter(patient__owner=owner).select_related("patient")
    context = {"owner": owner, "page": page, "member": here, "plans": plans}
    return render(request, "followup/staff/owner_hours.html", context, status=422 if page.checked else 200)
