"""One patient's page, and the small steps on it."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from clinic import clock
from clinic.access import member, roles
from clinic.models import Role
from followup.services.chart import chart
from followup.services.first_message import first_messages, is_settled
from followup.services.mark_seen import mark_seen
from followup.services.sign_off import reopen
from followup.views.found import plan_of


@require_safe
def patient(request: HttpRequest, pk: int) -> HttpResponse:
    """How it stands at a glance, what is open, and everything that happened."""
    here, now = member(request), clock.now()
    plan = plan_of(here, pk)
    fates = first_messages(plan, now=now)
    context = {"plan": plan, "fates": fates, "settled": is_settled(fates)}
    shown = {"chart": chart(plan, now=now), "member": here, "now": now}
    return render(request, "followup/staff/patient.html", {**context, **shown})


@require_POST
@roles(Role.VET, Role.NURSE)
def seen(request: HttpRequest, pk: int) -> HttpResponse:
    """Settled flags and photos have been seen."""
    here = member(request)
    plan = plan_of(here, pk)
    mark_seen(plan, staff=here.staff, now=clock.now())
    return redirect("followup:patient", pk=plan.pk)


@require_POST
@roles(Role.VET, Role.NURSE)
def go_on(request: HttpRequest, pk: int) -> HttpResponse:
    """A follow-up that was signed off goes on, because something came up."""
    here = member(request)
    plan = plan_of(here, pk)
    if not reopen(plan, staff=here.staff, now=clock.now()):
        messages.warning(request, "This follow-up cannot go on: it was over 30 days ago, or has not ended.")
    return redirect("followup:patient", pk=plan.pk)
