"""How sending stands, and the two switches of it: the pause, and the word that a restored backup may send again."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from clinic import clock
from clinic.access import member, roles
from clinic.models import Membership, Role
from followup.domain.terms import FollowUpError
from followup.models import Gap
from followup.services import gaps
from followup.services import pause as pausing
from followup.services.sending_page import sending_page
from followup.services.sending_state import sending_state
from followup.views.found import form_page
from followup.views.watch import watch_of


@require_safe
def sending(request: HttpRequest) -> HttpResponse:
    """Whether messages go out, by which ways, and which did not; for everybody who works here."""
    return _page(request, member(request), None)


@require_POST
@roles(*pausing.MAY)
def pause(request: HttpRequest) -> HttpResponse:
    """Stop all messages to owners."""
    here = member(request)
    try:
        stopped = pausing.pause(here.practice, staff=here.staff, reason=request.POST.get("why", ""), now=clock.now())
    except FollowUpError as refused:
        return _page(request, here, refused)
    messages.success(request, _("Messages to owners are paused.") if stopped else _("They were paused already."))
    return redirect("followup:sending")


@require_POST
@roles(*pausing.MAY)
def resume(request: HttpRequest) -> HttpResponse:
    """Let messages to owners go again."""
    here = member(request)
    again = pausing.resume(here.practice, staff=here.staff, now=clock.now())
    messages.success(request, _("Messages to owners go out again.") if again else _("They were not paused."))
    return redirect("followup:sending")


@require_POST
@roles(*pausing.MAY)
def confirm_restored(request: HttpRequest) -> HttpResponse:
    """After a restored backup: what was due in the gap stays unsent, and owners are written to again from now on."""
    here, gap = member(request), Gap.objects.holding().order_by("-ended_at", "-pk").first()
    try:
        if gap is not None:
            gaps.confirm_restored(gap, staff=here.staff, now=clock.now())
    except FollowUpError as refused:
        return _page(request, here, refused)
    messages.success(request, _("Owners are written to again.") if gap is not None else _("Nothing waits for a word."))
    return redirect("followup:sending")


def _page(request: HttpRequest, here: Membership, refused: FollowUpError | None) -> HttpResponse:
    state = watch_of(request).state or sending_state(now=clock.now(), practice=here.practice)
    shown = sending_page(here.practice, state, page=request.GET.get("page"))
    may = Role(here.role) in pausing.MAY
    return form_page(request, "sending", refused, shown=shown, member=here, practice=here.practice, may=may)
