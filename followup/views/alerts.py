"""An alert's link: one flag, one person, a button. Looking changes nothing.

The code in the address is the only authority, as on an owner's page, and browsers send `Origin: null` from a page
that tells nobody its address: the check against forged requests would refuse the button, and adds nothing here.
"""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_POST

from clinic import clock
from clinic.access import member
from followup.domain.terms import FollowUpError
from followup.models import Flag
from followup.services.alert_links import AlertLink, read_alert_code
from followup.services.escalate import acknowledge as take_it
from followup.services.escalate import failed_calls, record_outcome


@login_not_required
@csrf_exempt
@require_http_methods(["GET", "HEAD", "POST"])
def alert(request: HttpRequest, code: str) -> HttpResponse:
    """Who it is, what is wrong, whom to ring; "I have it", then what came of it."""
    link = read_alert_code(code, now=clock.now())
    if link is None:
        raise Http404("This link is wrong, or older than a day.")
    response = _page(request, link)
    response["Cache-Control"], response["Referrer-Policy"] = "no-store", "no-referrer"
    return response


@require_http_methods(["GET", "POST"])
def outcome(request: HttpRequest, pk: int) -> HttpResponse:
    """The same page for staff who are logged in."""
    here = member(request)
    flag = get_object_or_404(Flag.objects.of(here.practice), pk=pk)
    return _page(request, AlertLink(flag, here.staff))


@require_POST
def acknowledge(request: HttpRequest, pk: int) -> HttpResponse:
    """ "I have it", from a page of staff."""
    here = member(request)
    flag = get_object_or_404(Flag.objects.of(here.practice), pk=pk)
    problem = _answer(request, AlertLink(flag, here.staff))
    if problem:
        messages.error(request, problem)
    return redirect("followup:patient", pk=flag.plan_id)


def _page(request: HttpRequest, link: AlertLink) -> HttpResponse:
    problem = _answer(request, link) if request.method == "POST" else ""
    if request.method == "POST" and not problem:
        return redirect(request.path)
    link.flag.refresh_from_db()
    context = {
        "flag": link.flag,
        "staff": link.staff,
        "outcomes": Flag.Outcome.choices,
        "calls": failed_calls(link.flag),
        "problem": problem,
    }
    return render(request, "followup/staff/alert.html", context, status=409 if problem else 200)


def _answer(request: HttpRequest, link: AlertLink) -> str:
    """Take what was pressed; what stands against it, in words."""
    try:
        if "outcome" in request.POST:
            _record(request, link)
        else:
            take_it(link.flag, staff=link.staff, now=clock.now())
    except FollowUpError as refusal:
        return str(refusal)
    return ""


def _record(request: HttpRequest, link: AlertLink) -> None:
    said = request.POST.get("outcome", "")
    if said not in Flag.Outcome.values:
        raise FollowUpError("Say what came of it.", field="outcome")
    record_outcome(
        link.flag,
        staff=link.staff,
        outcome=Flag.Outcome(said),
        note=request.POST.get("note", ""),
        now=clock.now(),
    )
