"""The owner's page: what is due, the questions one at a time, and what to do. A GET changes nothing."""

from __future__ import annotations

import uuid
from dataclasses import dataclass

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _

from followup.domain.question_words import Kind
from followup.domain.questions import QUESTIONS, SKIPPED
from followup.domain.why_silent import with_words
from followup.models import Plan, Reply
from followup.services.check_in_page import (
    end_page,
    newest_due,
    next_key,
    planned_questions,
    question_page,
    session_reply,
    shown_at_once,
)
from followup.services.late_words import late_words
from followup.services.odd_answer import fault_in
from followup.services.owner_page import owner_page as everything_due
from followup.services.owner_page import plans_of, running_plan
from followup.services.parting import CLEAR, asked_at_parting
from followup.services.raw_answers import one_by_one
from followup.services.reply import LONGEST_ID, Incoming, answer_one, id_from, take_note
from followup.views.owner_link import Visit, owner_page, page


@owner_page("GET")
def due(request: HttpRequest, visit: Visit) -> HttpResponse:
    """The running follow-ups this person answers for, and what is due in each."""
    shown = everything_due(visit.recipient, now=visit.now)
    session = uuid.uuid4().hex
    return page(
        request,
        visit,
        "due",
        shown=shown,
        numbers=shown.numbers,
        session=session,
        round=shown.round or session,
        grieves=bool(shown.died) and not shown.rows,
        stopped=visit.recipient.stopped_at is not None,
        parting=asked_at_parting(visit.recipient, now=visit.now),
        clear=[(value, _(words)) for value, words in CLEAR.items()],
    )


@owner_page("GET", "POST", limited=True)
def ask(request: HttpRequest, visit: Visit, plan: int, session: str) -> HttpResponse:
    """One question of a check-in; each answer is one POST, kept as it is given."""
    if is_too_late(request, visit, plan):
        return take_late(request, visit, plan)
    return ask_in(request, visit, sitting_of(visit, visit.plan(plan), session))


@owner_page("GET")
def done(request: HttpRequest, visit: Visit, plan: int, session: str) -> HttpResponse:
    """What to do now, which number answers, and what happens next."""
    return done_in(request, visit, sitting_of(visit, visit.plan(plan), session))


def is_too_late(request: HttpRequest, visit: Visit, pk: int) -> bool:
    """Whether an answer comes to a follow-up of this person that has ended meanwhile."""
    return request.method == "POST" and running_plan(visit.recipient, pk) is None


def take_late(request: HttpRequest, visit: Visit, pk: int) -> HttpResponse:
    """Nothing that was told is lost: a person reads it. Raises Http404 for an animal of somebody else."""
    plan = plans_of(visit.recipient).filter(pk=pk).first()
    words = late_words(request.POST.get("question", ""), _values(request), plan) if plan is not None else ""
    if plan is None or not words:
        raise Http404
    told = Incoming(id_from(request.POST.get("entry", "")), {"note": words}, words)
    take_note(visit.recipient, told, plan=plan, now=visit.now)
    return page(request, visit, "noted", grieves=plan.patient.died_at is not None)


@dataclass(frozen=True)
class Sitting:
    """The answers of one check-in by one person, kept under an id that his page made.

    `ask` and `done` are the paths of its questions and of its advice. In a round of several patients, `onwards` is the
    path that leads to the next of them, `before` the one that leads back from the first question, `place` says which
    of how many he is, and `others` whether any of them has questions left.
    """

    plan: Plan
    id: str
    reply: Reply | None
    ask: str
    done: str
    onwards: str = ""
    before: str = ""
    place: str = ""
    others: bool = False


def sitting_of(visit: Visit, plan: Plan, session: str) -> Sitting:
    """A check-in about one patient alone."""
    if len(session) > LONGEST_ID:
        raise Http404
    about = f"{plan.pk}/{session}/"
    reply = session_reply(plan, visit.recipient, session)
    return Sitting(plan, session, reply, f"{visit.home}ask/{about}", f"{visit.home}done/{about}")


def ask_in(request: HttpRequest, visit: Visit, sitting: Sitting) -> HttpResponse:
    """The question that comes next, or the one asked for; or the answer that was posted."""
    if request.method == "POST":
        return _take(request, visit, sitting)
    key = request.GET.get("q") or next_key(sitting.plan, sitting.reply, visit.now)
    return redirect(_over(visit, sitting)) if key is None else _question(request, visit, sitting, key)


def done_in(request: HttpRequest, visit: Visit, sitting: Sitting) -> HttpResponse:
    """The advice for one patient."""
    if sitting.reply is None:
        return redirect(visit.home)
    end = end_page(sitting.plan, sitting.reply, now=visit.now)
    return page(request, visit, "done", plan=sitting.plan, end=end, sitting=sitting)


def _take(request: HttpRequest, visit: Visit, sitting: Sitting) -> HttpResponse:
    key, values = request.POST.get("question", ""), _values(request)
    given_at = visit.given_at(request, since=sitting.plan.surgery_ended_at)
    again = request.POST.get("again") == " ".join(values)
    fault = fault_in(sitting.plan, key, values, now=given_at, again=again)
    if fault:
        return _question(request, visit, sitting, key, typed=(fault, " ".join(values)))
    incoming = Incoming(
        sitting.id,
        one_by_one(planned_questions(sitting.plan, sitting.reply, visit.now)),
        text=values[0] if key == "text" and values[0] != SKIPPED else "",
        check_in=newest_due(sitting.plan, visit.now),
    )
    entry = {"id": id_from(request.POST.get("entry", "")), "key": key, "values": values, "at": given_at.isoformat()}
    step = answer_one(sitting.plan, incoming, entry, author=visit.recipient, now=visit.now)
    if step.red or step.next is None:
        return redirect(sitting.done if step.red else _over(visit, sitting))
    return redirect(sitting.ask)


def _over(visit: Visit, sitting: Sitting) -> str:
    """Where the last answer leads: to the advice; in a round to the next patient, unless the advice is pressing."""
    reply = session_reply(sitting.plan, visit.recipient, sitting.id)
    return sitting.done if not sitting.onwards or shown_at_once(sitting.plan, reply) else sitting.onwards


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
        "sitting": sitting,
        "question": question_page(sitting.plan, sitting.reply, key, now=visit.now),
        "fault": fault,
        "value": value,
        "entry": uuid.uuid4().hex,
    }
    return page(request, visit, "ask", status=422 if fault else 200, **shown)
