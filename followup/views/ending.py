"""The end of a follow-up: signed off by a vet, or by a death."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods

from clinic import clock
from clinic.access import member, roles
from clinic.models import Role
from followup.domain.terms import FollowUpError, Outcome
from followup.services.died import record_death
from followup.services.lost import lost
from followup.services.sign_off import sign_off as close
from followup.services.sign_off import why_not
from followup.views.found import form_page, plan_of

CHOICES = tuple(
    (each.value, words)
    for each, words in {
        Outcome.NONE: "No complication",
        Outcome.ABNORMAL_NO_TREATMENT: "Something abnormal, no treatment needed",
        Outcome.MEDICAL_TREATMENT: "Treated with medicine",
        Outcome.SURGICAL_TREATMENT: "Operated on again",
        Outcome.LOST: "Not known: the owner was not reached",
    }.items()
)
"""How a follow-up that is signed off has ended. Source: clinical defaults, 7."""


@require_http_methods(["GET", "POST"])
@roles(Role.VET)
def sign_off(request: HttpRequest, pk: int) -> HttpResponse:
    """How it ended; or every reason why it may not be signed off yet."""
    here, now = member(request), clock.now()
    plan = plan_of(here, pk)
    refused: FollowUpError | None = None
    if request.method == "POST":
        try:
            close(plan, staff=here.staff, outcome=_outcome(request), now=now)
        except FollowUpError as because:
            refused = because
        else:
            return redirect("followup:patient", pk=plan.pk)
    shown = {"plan": plan, "reasons": why_not(plan, now=now), "choices": CHOICES, "lost": lost(plan, now=now)}
    return form_page(request, "sign_off", refused, member=here, **shown)


@require_http_methods(["GET", "POST"])
def died(request: HttpRequest, pk: int) -> HttpResponse:
    """The owner says that the animal has died: everything about it ends in one step."""
    here, now = member(request), clock.now()
    plan = plan_of(here, pk)
    if request.method == "POST":
        record_death(plan.patient, said_by=f"told to {here.staff}", staff=here.staff, now=now)
        return redirect("followup:patient", pk=plan.pk)
    return form_page(request, "died", None, member=here, plan=plan)


def _outcome(request: HttpRequest) -> Outcome:
    chosen = request.POST.get("outcome", "")
    if chosen not in dict(CHOICES):
        raise FollowUpError("Choose how it ended.", field="outcome")
    return Outcome(chosen)
