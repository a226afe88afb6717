"""A plan from the enrolment page to its confirmation."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from clinic import clock
from clinic.access import member, roles
from clinic.models import Membership, Owner, Role
from clinic.models.practice import SPECIES
from followup.domain.terms import FollowUpError
from followup.forms.enrolment import Enrolment
from followup.services.confirm import confirm as confirm_plan
from followup.services.draft import Draft, NewRecovery
from followup.services.enrol import AlreadyEnrolled, rehearse
from followup.services.enrol import enrol as enrol_recovery
from followup.services.plan_words import plan_words
from followup.services.take_back import take_back as take_plan_back
from followup.views.enrol_page import lists_of, owners_like, retyped, same_number
from followup.views.found import plan_of

PREVIEW, CONFIRM = "preview", "confirm"


@require_http_methods(["GET", "POST"])
@roles(Role.FRONT_DESK, Role.NURSE, Role.VET)
def enrol(request: HttpRequest) -> HttpResponse:
    """The page, what it would make, and making it; whatever was typed is kept on the way."""
    here = member(request)
    asked = request.POST or request.GET
    owner = _owner(here, asked.get("owner", ""))
    action = _action(request.POST)
    page = Enrolment(here.practice, request.POST, owner=owner, checked=bool(action))
    if not action:
        return _form(request, here, page)
    if not page.is_valid(clock.now()):
        return _form(request, here, page, status=422)
    return _go_on(request, here, page, action)


@require_POST
@roles(Role.VET)
def confirm(request: HttpRequest, pk: int) -> HttpResponse:
    """A vet's one click."""
    here = member(request)
    plan = plan_of(here, pk)
    try:
        confirm_plan(plan, staff=here.staff, now=clock.now())
        messages.success(request, _("Confirmed. Print the sheet; the first message goes out in two minutes."))
    except FollowUpError as refused:
        messages.error(request, str(refused))
    return redirect("followup:sheet", pk=plan.pk)


@require_POST
@roles(Role.FRONT_DESK, Role.NURSE, Role.VET)
def take_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Undo an enrolment that was a slip."""
    here = member(request)
    plan = plan_of(here, pk)
    try:
        take_plan_back(plan, staff=here.staff, now=clock.now())
        messages.success(request, _("Taken back. Nothing was sent."))
    except FollowUpError as refused:
        messages.error(request, str(refused))
        return redirect("followup:sheet", pk=plan.pk)
    return redirect("followup:enrol")


def _go_on(request: HttpRequest, here: Membership, page: Enrolment, action: str) -> HttpResponse:
    """Show what would be made, or make it; a refusal goes to its field."""
    recovery = page.recovery(request.POST.get("key", ""))
    try:
        if action == CONFIRM:
            plan = enrol_recovery(recovery, staff=here.staff, now=clock.now())
            return redirect("followup:sheet", pk=plan.pk)
        return _preview(request, recovery, rehearse(recovery))
    except AlreadyEnrolled as fault:
        page.already = fault.plan
    except FollowUpError as fault:
        page.place(fault)
    return _form(request, here, page, status=422)


def _form(request: HttpRequest, here: Membership, page: Enrolment, *, status: int = 200) -> HttpResponse:
    asked = request.POST or request.GET
    words = asked.get("q", "").strip()
    context = {
        "page": page,
        "key": asked.get("key") or uuid.uuid4().hex,
        "q": words,
        "owners": owners_like(here.practice, words),
        **lists_of(here.practice),
    }
    return render(request, "followup/staff/enrol.html", context, status=status)


def _preview(request: HttpRequest, recovery: NewRecovery, drafted: Draft) -> HttpResponse:
    context = {
        "recovery": recovery,
        "words": plan_words(drafted.case, drafted.compiled),
        "case": drafted.case,
        "species": dict(SPECIES)[recovery.patient.species],
        "needs_vet": drafted.compiled.needs_vet(),
        "refused": drafted.compiled.refused(),
        "same_number": same_number(recovery),
        "typed": retyped(request.POST),
    }
    return render(request, "followup/staff/preview.html", context)


def _action(typed: QueryDict) -> str:
    """What was asked for; Enter in any field but the search looks at the plan."""
    said = typed.get("action", "")
    if said == "search" and not typed.get("q", "").strip():
        return PREVIEW
    return said if said in {PREVIEW, CONFIRM} else ""


def _owner(here: Membership, number: str) -> Owner | None:
    """An owner of this practice, or None for a new one. Raises Http404."""
    if not number:
        return None
    if not number.isdecimal():
        raise Http404
    return get_object_or_404(Owner.objects.of(here.practice), pk=int(number))
