"""One dose on the owner's page: what to do now, and what became of it."""

from __future__ import annotations

import datetime as dt
import uuid
from dataclasses import dataclass

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect

from followup.domain.told_dose import Told
from followup.forms.dose import DoseForm
from followup.models import Dose, Plan
from followup.services.dose_answer import DoseAnswer, answer_after, answer_before
from followup.services.facts import hours_of
from followup.services.owner_page import due_dose, others_doses
from followup.services.reply import Incoming, id_from, take_reply
from followup.views.owner_link import Visit, owner_page, page

ON_ITS_WAY = dt.timedelta(minutes=1)
"""What a phone has kept for longer than this was told earlier than it came."""


@dataclass(frozen=True)
class Telling:
    """One person who tells of one dose."""

    visit: Visit
    plan: Plan
    row: Dose

    def answer(self) -> DoseAnswer | None:
        """What to do while nobody has told of it; None: somebody has, or it is not given any more."""
        waiting = self.row.state == Dose.State.PLANNED
        return answer_before(self.plan, self.row, now=self.visit.now) if waiting else None

    def show(self, request: HttpRequest, template: str, *, status: int = 200, **more: object) -> HttpResponse:
        """One of its pages."""
        shown = {"plan": self.plan, "row": self.row, "entry": uuid.uuid4().hex, **more}
        return page(request, self.visit, template, status=status, **shown)


@owner_page("GET", "POST", limited=True)
def dose(request: HttpRequest, visit: Visit, plan: int, dose: int) -> HttpResponse:
    """Given, not given and why, or gone wrong. A forgotten dose is answered before it is written down as missed."""
    found = visit.plan(plan)
    row = found.doses.filter(pk=dose).first()
    if row is None:
        raise Http404
    telling, form = Telling(visit, found, row), DoseForm(request.POST or None)
    if not form.is_bound or not form.is_valid():
        return _ask(request, telling, form)
    before = telling.answer()
    if before is not None and before.may_give and form.told is Told.MISSED and not form.cleaned_data["final"]:
        return telling.show(request, "dose_now", answer=before)
    return _take(request, telling, form)


def _take(request: HttpRequest, telling: Telling, form: DoseForm) -> HttpResponse:
    visit, plan, row = telling.visit, telling.plan, telling.row
    told_at = visit.given_at(request, since=plan.surgery_ended_at)
    late = visit.now - told_at > ON_ITS_WAY
    raw = form.as_told(row.pk, hours_of(plan), now=told_at, since=plan.surgery_ended_at, late=late)
    words = form.cleaned_data["words"].strip()
    incoming = Incoming(id_from(request.POST.get("entry", "")), raw, text=words)
    taken = take_reply(plan, incoming, author=visit.recipient, now=visit.now)
    row.refresh_from_db()
    if taken.advice is None:
        return redirect(visit.home)
    return telling.show(
        request,
        "dose_told",
        answer=answer_after(plan, row, now=visit.now) if row.state == Dose.State.REPORTED else None,
        advice=taken.advice,
        level=taken.understood.level.word,
        wrong=form.told.went_wrong,
    )


def _ask(request: HttpRequest, telling: Telling, form: DoseForm) -> HttpResponse:
    shown = due_dose(telling.plan, telling.row.pk, now=telling.visit.now)
    if shown is None and not form.is_bound:
        raise Http404
    status = 422 if form.errors else 200
    return telling.show(
        request, "dose", status=status, dose=shown, form=form, answer=telling.answer(), fault=form.fault,
        others=others_doses(telling.visit.recipient, telling.plan, now=telling.visit.now),
    )  # fmt: skip
