"""Answers given on the phone: every question on one screen, triaged while the owner speaks."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from clinic import clock
from clinic.access import member
from clinic.models import Membership
from followup.domain.question_words import Kind
from followup.domain.questions import QUESTIONS, SKIPPED
from followup.domain.terms import FollowUpError, Level
from followup.domain.verdict import Verdict
from followup.domain.why_silent import with_words
from followup.models import Plan
from followup.services.advice import Advice, advice_for
from followup.services.check_in_page import newest_due
from followup.services.lost import record_failed_call
from followup.services.phone_sheet import faults_in, phone_sheet, what_if
from followup.services.raw_answers import together
from followup.services.reply import Incoming, id_from, take_reply
from followup.views.found import plan_of

TYPED, AGAIN = ".typed", ".again"
"""Endings of the names of a question's text field, and of what was asked about already."""


@dataclass(frozen=True)
class Meant:
    """What the answers would mean if they were saved, what to tell the owner then. No verdict: it cannot be said."""

    verdict: Verdict | None
    advice: Advice


@require_http_methods(["GET", "POST"])
def phone_answers(request: HttpRequest, pk: int) -> HttpResponse:
    """The questions; with `action=triage` what they would mean; with `action=save` they are kept."""
    here, now = member(request), clock.now()
    plan = plan_of(here, pk)
    if request.method == "POST" and request.POST.get("action") == "no_answer":
        return _nobody_answered(request, here, plan, now)
    answers = _answers(request)
    faults = faults_in(plan, answers, now=now, again=_again(request))
    if plan.state != Plan.State.RUNNING or request.method != "POST" or faults or not answers:
        return _sheet(request, here, plan, (answers, faults), None)
    if request.POST.get("action") != "save":
        return _sheet(request, here, plan, (answers, faults), _meant(plan, answers, now))
    words = answers.get("text", [""])[0]
    incoming = Incoming(_client_id(request), together(answers), text=words, check_in=newest_due(plan, now))
    take_reply(plan, incoming, author=here.staff, now=now)
    return redirect("followup:patient", pk=plan.pk)


def _nobody_answered(request: HttpRequest, here: Membership, plan: Plan, now: dt.datetime) -> HttpResponse:
    try:
        record_failed_call(plan, staff=here.staff, call=_client_id(request), now=now)
    except FollowUpError as refused:
        messages.warning(request, str(refused))
    return redirect("followup:patient", pk=plan.pk)


def _answers(request: HttpRequest) -> dict[str, list[str]]:
    """What was chosen or typed; what is typed goes before a button."""
    found = {key: _values(request, key) for key in QUESTIONS}
    return {key: values for key, values in found.items() if values}


def _values(request: HttpRequest, key: str) -> list[str]:
    typed = request.POST.get(key + TYPED, "").strip()
    if QUESTIONS[key].kind is Kind.REASON:
        return with_words([value for value in request.POST.getlist(key) if value], typed)
    return [typed] if typed else [value for value in request.POST.getlist(key) if value not in {"", SKIPPED}]


def _again(request: HttpRequest) -> dict[str, str]:
    return {key: request.POST[key + AGAIN] for key in QUESTIONS if key + AGAIN in request.POST}


def _client_id(request: HttpRequest) -> str:
    """Made with the form, so that the same form sent twice counts once."""
    return id_from(request.POST.get("client_id", ""))


def _meant(plan: Plan, answers: dict[str, list[str]], now: dt.datetime) -> Meant:
    verdict = what_if(plan, answers, now=now)
    level = verdict.level if verdict is not None else Level.URGENT
    return Meant(verdict, advice_for(plan, level, now=now))


def _sheet(
    request: HttpRequest,
    here: Membership,
    plan: Plan,
    given: tuple[dict[str, list[str]], dict[str, str]],
    meant: Meant | None,
) -> HttpResponse:
    answers, faults = given
    now = clock.now()
    context = {
        "member": here,
        "plan": plan,
        "sheet": phone_sheet(plan, answers, faults, now=now),
        "meant": meant,
        "faults": faults,
        "nothing": request.method == "POST" and not answers,
        "client_id": _client_id(request),
        "running": plan.state == Plan.State.RUNNING,
    }
    return render(request, "followup/staff/phone_answers.html", context, status=422 if faults else 200)
