"""Changing a running plan, and its versions side by side."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from clinic import clock
from clinic.access import member, roles
from clinic.models import Membership, Role
from followup.domain.proposing import in_force
from followup.domain.terms import FollowUpError, ProblemKind
from followup.forms.revision import RevisionPage
from followup.models import Plan
from followup.protocols.load_formulary import formulary
from followup.services.change_words import change_words
from followup.services.dose_rows import became_of
from followup.services.facts import case_of
from followup.services.going_on import doses_to_come
from followup.services.plan_words import plan_words
from followup.services.revise import Rehearsal, rehearse_revision
from followup.services.revise import revise as revise_plan
from followup.services.versions import versions_of
from followup.views.enrol_page import lists_of, retyped
from followup.views.found import plan_of

PREVIEW, CONFIRM = "preview", "confirm"


@require_http_methods(["GET", "POST"])
@roles(Role.VET, Role.NURSE)
def revise(request: HttpRequest, pk: int) -> HttpResponse:
    """The page, what the change would make, and making it; whatever was typed is kept on the way."""
    here = member(request)
    plan = plan_of(here, pk)
    page = _page(plan, request, checked=request.POST.get("action") in {PREVIEW, CONFIRM})
    if not page.checked:
        return _form(request, here, plan, page)
    if page.is_valid(plan.patient.species, case_of(plan).grams_now):
        try:
            return _go_on(request, here, plan, page)
        except FollowUpError as fault:
            page.place(fault)
    return _form(request, here, plan, page, status=422)


@require_safe
def versions(request: HttpRequest, pk: int) -> HttpResponse:
    """What each version of the plan says, beside the others."""
    here = member(request)
    plan = plan_of(here, pk)
    return render(request, "followup/staff/versions.html", {"plan": plan, "shown": versions_of(plan), "member": here})


def _go_on(request: HttpRequest, here: Membership, plan: Plan, page: RevisionPage) -> HttpResponse:
    """Show what the change would make, or make it."""
    revision, now = page.revision(_version(request, plan)), clock.now()
    if request.POST["action"] != CONFIRM:
        return _preview(request, here, plan, rehearse_revision(plan, revision, now=now))
    revise_plan(plan, revision, staff=here.staff, now=now)
    messages.success(request, "The plan has changed. Print the new sheet if the owner is here.")
    return redirect("followup:patient", pk=plan.pk)


def _page(plan: Plan, request: HttpRequest, *, checked: bool) -> RevisionPage:
    to_come = doses_to_come(plan, became_of(plan, now=clock.now()))
    asked = {each.drug: each for each in in_force(case_of(plan), formulary())}
    known = {drug: (asked[drug], count) for drug, count in to_come.items() if drug in asked}
    return RevisionPage(known, request.POST, checked=checked)


def _version(request: HttpRequest, plan: Plan) -> int:
    """The version that the page showed."""
    said = request.POST.get("version", "")
    return int(said) if said.isdecimal() else plan.version


def _form(request: HttpRequest, here: Membership, plan: Plan, page: RevisionPage, *, status: int = 200) -> HttpResponse:
    context = {
        "plan": plan,
        "page": page,
        "member": here,
        "version": _version(request, plan),
        **lists_of(here.practice),
    }
    return render(request, "followup/staff/revise.html", context, status=status)


def _preview(request: HttpRequest, here: Membership, plan: Plan, found: Rehearsal) -> HttpResponse:
    new = found.new
    kinds = {kind.value: [each.message for each in found.problems if each.kind is kind] for kind in ProblemKind}
    context = {
        "plan": plan,
        "member": here,
        "words": plan_words(new.case, new.compiled),
        "changes": change_words(found.change, new.case.hours, now=clock.now()),
        "problems": kinds,
        "refused": new.compiled.refused(),
        "typed": retyped(request.POST),
        "version": _version(request, plan),
    }
    return render(request, "followup/staff/revise_preview.html", context)
