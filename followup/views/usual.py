"""What owners may read as usual: a vet approves each, in our words or in the practice's own."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from clinic import clock
from clinic.access import member, roles
from clinic.models import Role
from followup.domain.terms import FollowUpError
from followup.domain.usual import BY_KEY
from followup.services.usual_words import approve, proposals, take_back


@require_http_methods(["GET", "POST"])
@roles(Role.VET, Role.ADMINISTRATOR)
def usual(request: HttpRequest) -> HttpResponse:
    """Every proposal with its words; a button each."""
    here, now = member(request), clock.now()
    key, typed, fault = request.POST.get("key", ""), request.POST.get("words", ""), ""
    if request.method == "POST":
        if key not in BY_KEY:
            raise Http404
        try:
            if request.POST.get("do") == "take_back":
                take_back(here.practice, BY_KEY[key], staff=here.staff, now=now)
            else:
                approve(here.practice, BY_KEY[key], typed, staff=here.staff, now=now)
        except FollowUpError as refusal:
            fault = str(refusal)
        else:
            messages.success(request, "Saved.")
            return redirect("followup:usual")
    context = {
        "member": here,
        "shown": proposals(here.practice),
        "may": here.role == Role.VET,
        "fault": fault,
        "key": key,
        "typed": typed,
    }
    return render(request, "followup/staff/usual.html", context, status=422 if fault else 200)
