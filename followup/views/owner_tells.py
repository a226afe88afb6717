"""What an owner tells beside the questions: a weight, words, a photo, and that his animal has died."""

from __future__ import annotations

import uuid

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _

from followup.domain.terms import FollowUpError
from followup.models import Notice, Photo, Plan
from followup.services.check_in_page import session_reply
from followup.services.day_30 import asked_on_day_30, take_day_30
from followup.services.died import record_death
from followup.services.odd_answer import fault_in
from followup.services.owner_page import plans_of, running_plan
from followup.services.parting import CLEAR, asked_at_parting, take_parting
from followup.services.photos import Upload, keep_photo
from followup.services.raw_answers import together
from followup.services.reached_vet import advice_now, asked_on_waking, take_reached
from followup.services.reply import Incoming, Taken, id_from, take_note, take_reply
from followup.views.owner_link import Visit, owner_page, page


@owner_page("GET", "POST", limited=True)
def weight(request: HttpRequest, visit: Visit, plan: int) -> HttpResponse:
    """A weight in grams; one that cannot be is asked again."""
    found = visit.plan(plan)
    typed = request.POST.get("typed", "").strip()
    fault = ""
    if request.method == "POST":
        again = request.POST.get("again") == typed
        fault = fault_in(found, "weight_g", [typed], now=visit.now, again=again)
        if not fault:
            incoming = Incoming(_client_id(request), together({"weight_g": [typed]}))
            return _told(request, visit, found, take_reply(found, incoming, author=visit.recipient, now=visit.now))
    return page(
        request,
        visit,
        "weight",
        plan=found,
        fault=fault,
        typed=typed,
        entry=uuid.uuid4().hex,
        status=422 if fault else 200,
    )


@owner_page("GET", "POST", limited=True)
def note(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Words for the practice, at any time, also after the end of a follow-up."""
    words = request.POST.get("words", "").strip()
    if request.method == "POST" and words:
        about = request.POST.get("plan", "")
        plan = running_plan(visit.recipient, int(about)) if about.isdecimal() else None
        take_note(visit.recipient, Incoming(_client_id(request), {"note": words}, words), plan=plan, now=visit.now)
        return page(request, visit, "noted")
    about = request.GET.get("plan", "")
    fault = _("Write something, then send.") if request.method == "POST" else ""
    return page(request, visit, "note", about=about, fault=fault, entry=uuid.uuid4().hex)


@owner_page("GET", "POST")
def day_30(request: HttpRequest, visit: Visit, plan: int) -> HttpResponse:
    """How it turned out, thirty days on; also when the follow-up has ended. One tap."""
    notice = asked_on_day_30(plan, visit.recipient, now=visit.now)
    if notice is None:
        raise Http404
    answer = request.POST.get("answer", "")
    if request.method == "POST" and answer in Notice.Answer.values:
        incoming = Incoming(_client_id(request), {"day_30": answer}, request.POST.get("words", "").strip())
        take_day_30(notice, Notice.Answer(answer), incoming, author=visit.recipient, now=visit.now)
        return page(request, visit, "day_30", plan=notice.plan, said=answer)
    return page(request, visit, "day_30", plan=notice.plan, said=notice.answer, session=uuid.uuid4().hex)


@owner_page("GET", "POST")
def parting(request: HttpRequest, visit: Visit, plan: int) -> HttpResponse:
    """What the owner says at the end, once."""
    asked = next((each for each in asked_at_parting(visit.recipient, now=visit.now) if each.pk == plan), None)
    clear, words = request.POST.get("clear", ""), request.POST.get("words", "").strip()
    if asked is not None and (clear in CLEAR or words):
        take_parting(asked, visit.recipient, clear=clear if clear in CLEAR else "", words=words, now=visit.now)
        asked = None
    choices = [(value, _(text)) for value, text in CLEAR.items()]
    fault = _("Choose an answer, or write something.") if request.method == "POST" and asked is not None else ""
    return page(request, visit, "parting", ended=asked, clear=choices, fault=fault, status=422 if fault else 200)


@owner_page("GET", "POST")
def reached_vet(request: HttpRequest, visit: Visit, plan: int) -> HttpResponse:
    """Whether a vet was reached in a night in which nobody here saw it.

    "Not yet": the number that answers now, and the question once more, for when he has.
    """
    notice = asked_on_waking(plan, visit.recipient, now=visit.now)
    if notice is None:
        raise Http404
    answer = request.POST.get("answer", "")
    if request.method == "POST" and answer in Notice.Reached.values:
        incoming = Incoming(_client_id(request), {"reached_vet": answer}, request.POST.get("words", "").strip())
        take_reached(notice, Notice.Reached(answer), incoming, author=visit.recipient, now=visit.now)
    said = answer if request.method == "POST" and answer in Notice.Reached.values else notice.answer
    advice = advice_now(notice.plan, now=visit.now) if said == Notice.Reached.NOT_YET else None
    return page(request, visit, "reached_vet", plan=notice.plan, said=said, advice=advice, session=uuid.uuid4().hex)


@owner_page("GET", "POST")
def photo(request: HttpRequest, visit: Visit, plan: int, session: str) -> HttpResponse:
    """Photos of the wound, after the words are safe. One that is refused stops no other."""
    found = visit.plan(plan)
    kept, fault = _keep(request, visit, found, session) if request.method == "POST" else ([], "")
    shown = [each for each in kept if each.state == Photo.State.SHOWN]
    return page(
        request, visit, "photo", plan=found, session=session, fault=fault, arrived=len(shown),
        unreadable=len(shown) < len(kept),
        dark=any(each.flaw == Photo.Flaw.DARK for each in shown),
        blurred=any(each.flaw == Photo.Flaw.BLURRED for each in shown),
        entry=uuid.uuid4().hex, status=422 if fault else 200,
    )  # fmt: skip


@owner_page("GET", "POST")
def died(request: HttpRequest, visit: Visit, plan: int) -> HttpResponse:
    """ "He has died": asked once, then everything about this animal ends."""
    found = plans_of(visit.recipient).filter(pk=plan, patient__died_at__isnull=True).first()
    if found is None:
        return page(request, visit, "sorry", grieves=True)
    if request.method == "POST":
        record_death(found.patient, said_by=visit.recipient.person.name, now=visit.now)
        return page(request, visit, "sorry", patient=found.patient.name, grieves=True)
    return page(request, visit, "died", plan=found, asks_whether_died=True)


def _client_id(request: HttpRequest) -> str:
    return id_from(request.POST.get("entry", ""))


def _keep(request: HttpRequest, visit: Visit, plan: Plan, session: str) -> tuple[list[Photo], str]:
    """What was kept, and why something was not."""
    files = [(each.file, each.size or 0) for each in request.FILES.getlist("photo") if each.file is not None]
    if not files:
        return [], _("Choose a photo first, or go on without one.")
    reply, entry = session_reply(plan, visit.recipient, session), _client_id(request)
    kept, fault = [], ""
    for place, (file, size) in enumerate(files):
        upload = Upload(f"{entry}-{place}" if place else entry, file, size)
        try:
            kept.append(keep_photo(plan, upload, reply=reply, now=visit.now))
        except FollowUpError as refusal:
            fault = str(refusal)
    return kept, fault


def _told(request: HttpRequest, visit: Visit, plan: Plan, taken: Taken) -> HttpResponse:
    if taken.advice is None:
        return redirect(visit.home)
    return page(request, visit, "told", plan=plan, advice=taken.advice, level=taken.understood.level.word)
