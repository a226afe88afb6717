"""Who stands at the door of an owner's page: the link decides, no login, no cookie.

Cross-site request forgery needs an authority that the browser sends along by itself; here the only one is the code in
the address, which a stranger's page does not know. So the pages ask for no cookie, and work where cookies are off.
"""

from __future__ import annotations

import datetime as dt
import functools
import logging
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import translation
from django.views.decorators.csrf import csrf_exempt

from clinic import clock
from clinic.models import Practice
from followup.domain.terms import FollowUpError
from followup.models import Plan, Recipient
from followup.services.link_limit import is_over, keep_words
from followup.services.links import find, path_of
from followup.services.owner_page import numbers, running_plan
from followup.services.reply import Incoming, id_from, take_note

logger = logging.getLogger(__name__)
LONGEST_AGO = 7  # digits


@dataclass(frozen=True)
class Visit:
    """One request through one person's link."""

    recipient: Recipient
    now: dt.datetime

    @property
    def practice(self) -> Practice:
        """Whose page it is."""
        return self.recipient.practice

    @property
    def home(self) -> str:
        """The path of the list."""
        return path_of(self.recipient)

    def given_at(self, request: HttpRequest, *, since: dt.datetime) -> dt.datetime:
        """When what is posted was told: a phone without a net keeps it, and says how many seconds ago that was.

        A difference, since a phone's clock may be wrong; never before `since`, and never more than a day ago.
        """
        ago = request.POST.get("ago", "")
        if not (ago.isascii() and ago.isdecimal() and len(ago) <= LONGEST_AGO):
            return self.now
        return max(self.now - min(dt.timedelta(seconds=int(ago)), dt.timedelta(days=1)), since)

    def plan(self, pk: int) -> Plan:
        """A running follow-up that this person answers for. Raises Http404."""
        plan = running_plan(self.recipient, pk)
        if plan is None:
            raise Http404
        return plan


Page = Callable[..., HttpResponse]
"""A view that takes the request, the visit, and what else its address says."""


def owner_page(*methods: str, limited: bool = False) -> Callable[[Page], Callable[..., HttpResponse]]:
    """A page behind a link: find whose it is, speak the language, keep it out of caches and referrers.

    `limited`: beyond what one link may send within an hour nothing is weighed, and only words are kept.
    """

    def decorate(view: Page) -> Callable[..., HttpResponse]:
        @login_not_required
        @csrf_exempt
        @functools.wraps(view)
        def behind_link(request: HttpRequest, practice: str, code: str, **more: object) -> HttpResponse:
            recipient = find(practice, code)
            if recipient is None:
                return _private(wrong_link(request, practice))
            visit = Visit(recipient, clock.now())
            if request.method not in {*methods, "HEAD"}:
                return _private(_wrong_method(request, visit, methods))
            with translation.override(recipient.person.language):
                if limited and request.method == "POST" and is_over(recipient, now=visit.now):
                    return _private(_too_much(request, visit))
                return _private(_answer(view, request, visit, more))

        return behind_link

    return decorate


def page(request: HttpRequest, visit: Visit, template: str, *, status: int = 200, **shown: object) -> HttpResponse:
    """An owner's page with the practice, the way home and the numbers that answer now."""
    species = [plan.patient.species] if isinstance(plan := shown.get("plan"), Plan) else []
    shown = {"numbers": numbers(visit.practice, species, now=visit.now)} | shown
    context = {"practice": visit.practice, "home": visit.home, **shown}
    return render(request, f"followup/owner/{template}.html", context, status=status)


def wrong_link(request: HttpRequest, practice_slug: str) -> HttpResponse:
    """A link that opens nothing still shows how to reach the practice, where there is one of that name."""
    practice = Practice.objects.filter(slug=practice_slug).first()
    shown = numbers(practice, (), now=clock.now()) if practice is not None else ()
    return render(request, "followup/owner/wrong_link.html", {"practice": practice, "numbers": shown}, status=404)


def _answer(view: Page, request: HttpRequest, visit: Visit, more: dict[str, object]) -> HttpResponse:
    try:
        return view(request, visit, **more)
    except Http404:
        return _gone(request, visit)
    except FollowUpError as refusal:
        logger.info("an owner's page refused: %s", type(refusal).__name__)
        return page(request, visit, "gone", status=400, refusal=str(refusal))


def _gone(request: HttpRequest, visit: Visit) -> HttpResponse:
    """What is over or somebody else's. Words that were sent to it are kept all the same, and a person reads them."""
    words = _words(request) if request.method == "POST" else ""
    if not words.strip():
        return page(request, visit, "gone", status=404)
    told = Incoming(id_from(request.POST.get("entry", "")), {"note": words}, words)
    take_note(visit.recipient, told, plan=None, now=visit.now)
    return page(request, visit, "noted")


def _words(request: HttpRequest) -> str:
    """What was typed, in whichever of our forms."""
    return str(request.POST.get("words") or request.POST.get("typed") or "")


def _wrong_method(request: HttpRequest, visit: Visit, methods: Sequence[str]) -> HttpResponse:
    """Nobody gets here by a link or a button of ours; whoever does still sees the numbers."""
    answer = page(request, visit, "gone", status=405)
    answer["Allow"] = ", ".join((*methods, "HEAD"))
    return answer


def _too_much(request: HttpRequest, visit: Visit) -> HttpResponse:
    keep_words(visit.recipient, id_from(request.POST.get("entry", "")), _words(request), now=visit.now)
    return page(request, visit, "too_much", status=429)


def _private(response: HttpResponse) -> HttpResponse:
    response["Cache-Control"] = "no-store"
    response["Referrer-Policy"] = "no-referrer"
    return response
