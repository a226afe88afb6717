"""An owner's or carer's e-mail and numbers, to be put right while he is there."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from clinic import clock
from clinic.access import member, roles
from clinic.models import Owner, Role
from followup.domain.terms import FollowUpError
from followup.forms.address import AddressForm
from followup.models import Plan
from followup.services.mend_address import mend_address


@require_http_methods(["GET", "POST"])
@roles(Role.FRONT_DESK, Role.NURSE, Role.VET)
def owner_address(request: HttpRequest, pk: int) -> HttpResponse:
    """What is on record, and keeping what is right; a first message that had failed goes out again."""
    here = member(request)
    person = get_object_or_404(Owner.objects.of(here.practice), pk=pk)
    known = {"email": person.email, "mobile": str(person.mobile), "landline": str(person.landline)}
    form = AddressForm(request.POST if request.method == "POST" else None, initial=known)
    plan = Plan.objects.running().filter(patient__owner=person).select_related("patient").order_by("-pk").first()
    if form.is_bound and form.is_valid():
        try:
            changed = mend_address(person, form.addresses(), staff=here.staff, now=clock.now())
        except FollowUpError as refused:
            form.add_error(refused.field or None, str(refused))
        else:
            messages.success(request, "Saved." if changed else "Nothing was changed: this is what was on record.")
            return redirect("followup:patient", pk=plan.pk) if plan else redirect("followup:owner_address", pk=pk)
    context = {"person": person, "form": form, "plan": plan, "member": here}
    return render(request, "followup/staff/owner_address.html", context, status=422 if form.is_bound else 200)
