"""What a member of staff may open: records of his own practice, 404 for any other."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from clinic.models import Membership
from followup.domain.terms import FollowUpError
from followup.models import Flag, Plan, Task, WoundReview
from followup.services.who_may import NotYours


def plan_of(here: Membership, pk: int) -> Plan:
    """A plan of this practice. Raises Http404."""
    plans = Plan.objects.of(here.practice).select_related("practice", "protocol", "patient__owner", "closed_by")
    return get_object_or_404(plans, pk=pk)


def flag_of(here: Membership, pk: int) -> Flag:
    """A flag of this practice. Raises Http404."""
    flags = Flag.objects.of(here.practice).select_related("plan__patient__owner", "plan__practice", "practice")
    return get_object_or_404(flags, pk=pk)


def review_of(here: Membership, pk: int) -> WoundReview:
    """A wound review of this practice. Raises Http404."""
    reviews = WoundReview.objects.select_related("plan__patient", "plan__practice", "practice")
    return get_object_or_404(reviews, pk=pk, practice=here.practice)


def task_of(here: Membership, pk: int) -> Task:
    """A task of this practice. Raises Http404."""
    tasks = Task.objects.select_related("plan__patient__owner", "plan__practice", "practice")
    return get_object_or_404(tasks, pk=pk, practice=here.practice)


def form_page(request: HttpRequest, template: str, refused: FollowUpError | None, **shown: object) -> HttpResponse:
    """A form, with what was typed and why it was refused, if it was."""
    status = 200 if refused is None else 403 if isinstance(refused, NotYours) else 422
    fault = {"fault": str(refused), "field": refused.field} if refused is not None else {}
    context = {**shown, **fault, "typed": request.POST}
    return render(request, f"followup/staff/{template}.html", context, status=status)
