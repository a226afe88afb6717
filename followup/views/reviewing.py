"""Reviewing flags and wounds, and finishing tasks: what a person found and did."""

from __future__ import annotations

import datetime as dt

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods

from clinic import clock
from clinic.access import member, roles
from clinic.models import Membership, Role
from followup.domain.terms import FollowUpError, Level
from followup.models import Flag, Photo, Task, WoundReview
from followup.services.finish_task import CameOfIt, finish_task, reply_of
from followup.services.review import REALLY, Looked, review
from followup.services.timeline import answers_in
from followup.services.wound_review import WoundLook, look_at_wound
from followup.views.found import flag_of, form_page, review_of, task_of

AGAIN_IN = (1, 2, 4, 8, 12, 24)
"""Hours to choose from, for when to look again."""
_LEVELS = {level.word: level for level in Level}


@require_http_methods(["GET", "POST"])
@roles(Role.VET, Role.NURSE)
def review_flag(request: HttpRequest, pk: int) -> HttpResponse:
    """Why the flag is there; what was found, what was done, what the owner was told."""
    here, now = member(request), clock.now()
    flag = flag_of(here, pk)
    if request.method != "POST":
        return _flag_form(request, here, flag, now, None)
    try:
        review(flag, _looked(request, now), staff=here.staff, now=now)
    except FollowUpError as refused:
        return _flag_form(request, here, flag, now, refused)
    return redirect("followup:patient", pk=flag.plan_id)


@require_http_methods(["GET", "POST"])
@roles(Role.VET, Role.NURSE)
def wound_review(request: HttpRequest, pk: int) -> HttpResponse:
    """The wound's photos, newest first, and what was seen and decided."""
    here, now = member(request), clock.now()
    due = review_of(here, pk)
    if request.method != "POST":
        return _wound_form(request, here, due, None)
    looked = WoundLook(
        found=request.POST.get("found", ""),
        decision=request.POST.get("decision", ""),
        as_expected="as_expected" in request.POST,
    )
    try:
        look_at_wound(due, looked, staff=here.staff, now=now)
    except FollowUpError as refused:
        return _wound_form(request, here, due, refused)
    return redirect("followup:morning")


@require_http_methods(["GET", "POST"])
def task_done(request: HttpRequest, pk: int) -> HttpResponse:
    """What is to be done, the owner's words where there are any, and what came of it."""
    here, now = member(request), clock.now()
    task = task_of(here, pk)
    if request.method != "POST":
        return _task_form(request, here, task, None)
    try:
        finish_task(task, _came_of_it(request), staff=here.staff, now=now)
    except FollowUpError as refused:
        return _task_form(request, here, task, refused)
    return redirect("followup:morning")


def _came_of_it(request: HttpRequest) -> CameOfIt:
    return CameOfIt(
        result=request.POST.get("result", ""),
        lives=request.POST.get("lives") == "yes",
        no_answer="no_answer" in request.POST,
    )


def _looked(request: HttpRequest, now: dt.datetime) -> Looked:
    hours = request.POST.get("again_in", "")
    return Looked(
        found=request.POST.get("found", ""),
        done=request.POST.get("done", ""),
        owner_told=request.POST.get("owner_told", ""),
        spoke="spoke" in request.POST,
        look_again_at=now + dt.timedelta(hours=int(hours)) if hours.isdecimal() else None,
        really=_LEVELS.get(request.POST.get("really", "")),
    )


def _flag_form(
    request: HttpRequest, here: Membership, flag: Flag, now: dt.datetime, refused: FollowUpError | None
) -> HttpResponse:
    again = [(hours, now + dt.timedelta(hours=hours)) for hours in AGAIN_IN]
    really = [(level.word, words) for level, words in REALLY.items()]
    judged = REALLY[Level(flag.judged_level)] if flag.judged_level is not None else ""
    shown = {"flag": flag, "plan": flag.plan, "again": again, "open": flag.state == Flag.State.OPEN}
    return form_page(request, "review_flag", refused, member=here, really=really, judged=judged, **shown)


def _wound_form(
    request: HttpRequest, here: Membership, due: WoundReview, refused: FollowUpError | None
) -> HttpResponse:
    photos = due.plan.photos.filter(state=Photo.State.SHOWN).order_by("-received_at", "-pk")
    newest = due.plan.replies.order_by("-received_at", "-pk")[:1]
    told = [(reply, answers_in(reply, due.plan.patient.name)) for reply in newest]
    return form_page(request, "wound_review", refused, member=here, review=due, plan=due.plan, photos=photos, told=told)


def _task_form(request: HttpRequest, here: Membership, task: Task, refused: FollowUpError | None) -> HttpResponse:
    return form_page(request, "task_done", refused, member=here, task=task, plan=task.plan, reply=reply_of(task))
