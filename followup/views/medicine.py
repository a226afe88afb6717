"""Staff and doses: telling for the owner what became of one, and letting a held medicine go on."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from clinic import clock
from clinic.access import member, roles
from clinic.models import Membership, Role
from followup.domain.terms import FollowUpError
from followup.forms.dose import DoseForm
from followup.models import Dose
from followup.services.dose_answer import answer_after, answer_before
from followup.services.facts import hours_of
from followup.services.release import release as release_drug
from followup.services.reply import Incoming, id_from, take_reply
from followup.views.found import form_page


@require_http_methods(["GET", "POST"])
@roles(Role.FRONT_DESK, Role.NURSE, Role.VET)
def record_dose(request: HttpRequest, pk: int) -> HttpResponse:
    """What the owner says on the phone of one dose, and what to tell him."""
    here = member(request)
    row = _dose(here, pk)
    form = DoseForm(request.POST or None)
    if not form.is_bound or not form.is_valid():
        return _ask(request, here, row, form)
    plan, now = row.plan, clock.now()
    raw = form.as_told(row.pk, hours_of(plan), now=now, since=plan.surgery_ended_at)
    words = form.cleaned_data["words"].strip()
    incoming = Incoming(id_from(request.POST.get("entry", "")), raw, text=words)
    take_reply(plan, incoming, author=here.staff, now=now)
    row.refresh_from_db()
    answer = answer_after(plan, row, now=now) if row.state == Dose.State.REPORTED else None
    return render(
        request, "followup/staff/dose_told.html", {"plan": plan, "row": row, "member": here, "answer": answer}
    )


@require_http_methods(["GET", "POST"])
@roles(Role.VET)
def release(request: HttpRequest, pk: int) -> HttpResponse:
    """Why a medicine is held, and what the vet decides."""
    here, now = member(request), clock.now()
    row = _dose(here, pk)
    flag = row.plan.flags.open().filter(concern="medicine").first()
    if request.method != "POST":
        return form_page(request, "release", None, member=here, plan=row.plan, row=row, flag=flag)
    try:
        decided = request.POST.get("decided", "")
        release_drug(row.plan, row.drug, staff=here.staff, decided=decided, now=now)
    except FollowUpError as refused:
        return form_page(request, "release", refused, member=here, plan=row.plan, row=row, flag=flag)
    return redirect("followup:patient", pk=row.plan_id)


def _dose(here: Membership, pk: int) -> Dose:
    """A dose of this practice. Raises Http404."""
    rows = Dose.objects.select_related("plan__practice", "plan__patient__owner", "plan__protocol")
    return get_object_or_404(rows, pk=pk, practice=here.practice)


def _ask(request: HttpRequest, here: Membership, row: Dose, form: DoseForm) -> HttpResponse:
    waiting = row.state == Dose.State.PLANNED
    context = {
        "plan": row.plan,
        "row": row,
        "member": here,
        "form": form,
        "answer": answer_before(row.plan, row, now=clock.now()) if waiting else None,
        "fault": form.fault,
        "entry": id_from(request.POST.get("entry", "")),
    }
    return render(request, "followup/staff/record_dose.html", context, status=422 if form.errors else 200)
