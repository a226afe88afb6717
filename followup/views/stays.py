"""A stay in a clinic: the patient is admitted, and goes home with a new plan."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from clinic import clock
from clinic.access import member, roles
from clinic.models import Membership, Role
from followup.domain.proposing import in_force
from followup.domain.terms import FollowUpError, ProblemKind
from followup.forms.homecoming import HomecomingPage
from followup.models import Plan
from followup.protocols.load_formulary import formulary
from followup.services.admit import admit as admit_patient
from followup.services.change_words import change_words
from followup.services.facts import case_of
from followup.services.home_again import Rehearsal, rehearse_homecoming
from followup.services.home_again import home_again as go_home
from followup.services.plan_words import plan_words
from followup.views.enrol_page import lists_of, retyped
from followup.views.found import form_page, plan_of

PREVIEW, CONFIRM = "preview", "confirm"


@require_http_methods(["GET", "POST"])
@roles(Role.FRONT_DESK, Role.NURSE, Role.VET)
def admit(request: HttpRequest, pk: int) -> HttpResponse:
    """It is in a clinic: why, and in which."""
    here = member(request)
    plan = plan_of(here, pk)
    if request.method != "POST":
        return form_page(request, "admit", None, member=here, plan=plan)
    try:
        admit_patient(plan, staff=here.staff, why=request.POST.get("why", ""), now=clock.now())
    except FollowUpError as refused:
        return form_page(request, "admit", refused, member=here, plan=plan)
    return redirect("followup:patient", pk=plan.pk)


@require_http_methods(["GET", "POST"])
@roles(Role.VET)
def home_again(request: HttpRequest, pk: int) -> HttpResponse:
    """It goes home: what is known, what the new plan would be, and putting it in force."""
    here = member(request)
    plan = plan_of(here, pk)
    before = list(in_force(case_of(plan), formulary()))
    checked = request.POST.get("action") in {PREVIEW, CONFIRM}
    page = HomecomingPage(here.practice, before, request.POST, checked=checked)
    if not checked:
        return _form(request, here, plan, page)
    if page.is_valid(plan.patient.species, last_weight=case_of(plan).grams_now, admitted_at=plan.admitted_at):
        try:
            return _go_on(request, here, plan, page)
        except FollowUpError as fault:
            page.place(fault)
    return _form(request, here, plan, page, status=422)


def _go_on(request: HttpRequest, here: Membership, plan: Plan, page: HomecomingPage) -> HttpResponse:
    """Show the new plan, or put it in force."""
    coming, now = page.homecoming(), clock.now()
    if request.POST["action"] != CONFIRM:
        return _preview(request, here, plan, rehearse_homecoming(plan, coming, now=now))
    go_home(plan, coming, staff=here.staff, now=now)
    messages.success(request, "The follow-up goes on. Print the new sheet for the owner.")
    return redirect("followup:sheet", pk=plan.pk)


def _form(
    request: HttpRequest, here: Membership, plan: Plan, page: HomecomingPage, *, status: int = 200
) -> HttpResponse:
    context = {"plan": plan, "page": page, "member": here, **lists_of(here.practice)}
    return render(request, "followup/staff/home_again.html", context, status=status)


def _preview(request: HttpRequest, here: Membership, plan: Plan, found: Rehearsal) -> HttpResponse:
    new = found.new
    kinds = {kind.value: [each.message for each in new.compiled.problems if each.kind is kind] for kind in ProblemKind}
    context = {
        "plan": plan,
        "member": here,
        "words": plan_words(new.case, new.compiled),
        "changes": change_words(found.change, new.case.hours, now=clock.now()),
        "problems": kinds,
        "refused": new.compiled.refused(),
        "typed": retyped(request.POST),
    }
    return render(request, "followup/staff/revise_preview.html", context)
