"""The sheet that goes home and the page for an emergency vet: on screen, on paper, as PDF, behind the owner's link."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import translation
from django.views.decorators.http import require_safe

from clinic import clock
from clinic.access import member
from clinic.models import Role
from followup.models import Plan
from followup.services.emergency_sheet import emergency_sheet
from followup.services.facts import case_of, compiled_of
from followup.services.first_message import first_messages, is_settled
from followup.services.people import language_of
from followup.services.plan_words import plan_words
from followup.services.sheet import may_be_printed, sheet_of
from followup.services.sheet_pdf import emergency_pdf
from followup.services.sheet_pdf import sheet_pdf as pdf_of
from followup.services.take_back import may_be_taken_back
from followup.views.found import plan_of
from followup.views.owner_link import Visit, owner_page, page


@require_safe
def sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """The sheet for the owner on paper; before a vet has confirmed, what waits for what."""
    here, now = member(request), clock.now()
    plan = plan_of(here, pk)
    fates = first_messages(plan, now=now)
    context = {
        "plan": plan,
        "fates": fates,
        "settled": is_settled(fates),
        "language": language_of(plan),
        "words": plan_words(case_of(plan), compiled_of(plan)),
        "may_take_back": may_be_taken_back(plan, now=now),
        "may_confirm": plan.state == Plan.State.WAITING_FOR_VET and here.role == Role.VET,
    }
    if may_be_printed(plan):
        with translation.override(language_of(plan)):
            context |= {"sheet": sheet_of(plan, now=now), "emergency": emergency_sheet(plan, now=now)}
    return render(request, "followup/staff/sheet.html", context)


@require_safe
def sheet_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """The same as a file to print or to send."""
    here, now = member(request), clock.now()
    plan = plan_of(here, pk)
    if not may_be_printed(plan):
        return redirect("followup:sheet", pk=plan.pk)
    with translation.override(language_of(plan)):
        return pdf(pdf_of(sheet_of(plan, now=now), emergency_sheet(plan, now=now)), "sheet.pdf")


@owner_page("GET")
def for_a_vet(request: HttpRequest, visit: Visit, plan: int) -> HttpResponse:
    """What to show to an emergency vet."""
    found = visit.plan(plan)
    return page(request, visit, "for_a_vet", plan=found, emergency=emergency_sheet(found, now=visit.now))


@owner_page("GET")
def for_a_vet_file(_request: HttpRequest, visit: Visit, plan: int) -> HttpResponse:
    """The same as a file that stays on the phone and opens without a net."""
    found = visit.plan(plan)
    return pdf(emergency_pdf(emergency_sheet(found, now=visit.now)), "for-a-vet.pdf", saved=True)


def pdf(content: bytes, name: str, *, saved: bool = False) -> HttpResponse:
    """A file without anybody's name in its own."""
    answer = HttpResponse(content, content_type="application/pdf")
    answer["Content-Disposition"] = f'{"attachment" if saved else "inline"}; filename="{name}"'
    answer["Cache-Control"] = "no-store"
    return answer
