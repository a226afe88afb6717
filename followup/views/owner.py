"""The owner's page: what is due, the questions one at a time, and what to do. A GET changes nothing."""

from __future__ import annotations

import uuid
from dataclasses import dataclass

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from followup.domain.question_words import Kind
from followup.domain.questions import QUESTIONS, SKIPPED
from followup.domain.why_silent import with_words
from followup.models import Plan, Reply
from followup.services.check_in_page import (
    end_page,
    fault_in,
    newest_due,
    next_key,
    planned_questions,
    question_page,
    session_reply,
)
from followup.services.owner_page import owner_page as everything_due
from followup.services.raw_answers import one_by_one
from followup.services.reply import LONGEST_ID, Incoming, answer_one, id_from
from followup.views.owner_link import Visit, owner_page, page


@owner_page("GET")
def due(request: HttpRequest, visit: Visit) -> HttpResponse:
    """The running follow-ups this person answers for, and what is due in each."""
    shown = everything_due(visit.recipient, now=visit.now)
    return page(
        request,
        visit,
        "due",
        shown=shown,
        numbers=shown.numbers,
        session=uuid.uuid4().hex,
        grieves=bool(shown.died) and not shown.rows,
    )


@owner_page("GET", "POST")
def ask(request: HttpRequest, visit: Visit, plan: int, session: str) -> HttpResponse:
    """One question of a check-in; each answer is one POST, kept as it is given."""
    sitting = _sitting(visit, plan, session)
    if request.method == "POST":
        return _take(request, visit, sitting)
    key = request.GET.get("q") or next_key(sitting.plan, sitting.reply, visit.now)
    return _go(visit, "owner_done", sitting) if key is None else _question(request, visit, sitting, key)


@owner_page("GET")
def done(request: HttpRequest, visit: Visit, plan: int, session: str) -> HttpResponse:
    """What to do now, which number answers, and what happens next."""
    sitting = _sitting(visit, plan, session)
    if sitting.reply is None:
        return redirect(visit.home)
    end = end_page(sitting.plan, sitting.reply, now=visit.now)
    return page(request, visit, "done", plan=sitting.plan, end=end, session=session)


@dataclass(frozen=True)
class Sitting:
    """The answers of one check-in by one person, kept under an id that his page made."""

    plan: Plan
    id: str
    reply: Reply | None


def _sitting(visit: Visit, plan: int, session: str) -> Sitting:
    found = visit.plan(plan)
    if len(session) > LONGEST_ID:
        raise Http404
    return Sitting(found, session, session_reply(found, visit.recipient, session))


def _take(request: HttpRequest, visit: Visit, sitting: Sitting) -> HttpResponse:
    key, values = request.POST.get("question", ""), _values(request)
    again = request.POST.get("again") == " ".join(values)
    fault = fault_in(sitting.plan, key, values, now=visit.now, again=again)
    if fault:
        return _question(request, visit, sitting, key, typed=(fault, " ".join(values)))
    incoming = Incoming(
        sitting.id,
        one_by_one(planned_questions(sitting.plan, sitting.reply, visit.now)),
        text=values[0] if key == "text" and values[0] != SKIPPED else "",
        check_in=newest_due(sitting.plan, visit.now),
    )
    entry = {"id": id_from(request.POST.get("entry", "")), "key": key, "values": values}
    step = answer_one(sitting.plan, incoming, entry, author=visit.recipient, now=visit.now)
    return _go(visit, "owner_done" if step.red or step.next is None else "owner_ask", sitting)


def _values(request: HttpRequest) -> list[str]:
    """The answers as posted: a typed time goes before a button, and empty words are a skipped question."""
    if "skip" in request.POST:
        return [SKIPPED]
    typed = request.POST.get("typed", "").strip()
    asked = QUESTIONS.get(request.POST.get("question", ""))
    if asked is not None and asked.kind is Kind.REASON:
        return with_words(request.POST.getlist("answer"), typed)
    if typed or (asked is not None and asked.kind is Kind.WORDS):
        return [typed or SKIPPED]
    return request.POST.getlist("answer")


def _question(
    request: HttpRequest, visit: Visit, sitting: Sitting, key: str, *, typed: tuple[str, str] = ("", "")
) -> HttpResponse:
    """The page of one question; `typed` is what is wrong with the last try, and that try."""
    if key not in QUESTIONS:
        raise Http404
    fault, value = typed
    shown = {
        "plan": sitting.plan,
        "question": question_page(sitting.plan, sitting.reply, key, now=visit.now),
        "fault": fault,
        "value": value,
        "entry": uuid.uuid4().hex,
    }
    return page(request, visit, "ask", status=422 if fault else 200, **shown)


def _go(visit: Visit, name: str, sitting: Sitting) -> HttpResponse:
    practice, code = visit.home.strip("/").split("/")[1:]
    return redirect(reverse(f"followup:{name}", args=[practice, code, sitting.plan.pk, sitting.id]))
