"""An owner asks for no messages, or for messages again. A GET changes nothing.

A mail program's own button posts here too (RFC 8058): without a cookie, and it must not be led on to another page.
"""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _

from followup.models import Recipient
from followup.services import stop as stopping
from followup.views.owner_link import Visit, owner_page, page


@owner_page("GET", "POST")
def stop(request: HttpRequest, visit: Visit) -> HttpResponse:
    """What it means, and a button; once stopped, a button to begin again."""
    if request.method != "POST":
        return page(request, visit, "stop", recipient=visit.recipient)
    if request.POST.get("List-Unsubscribe") == "One-Click":
        stopping.stop(visit.recipient, how=Recipient.How.ONE_CLICK, now=visit.now)
        return HttpResponse(_("You get no more messages."), content_type="text/plain; charset=utf-8")
    step = request.POST.get("step", "")
    if step == "stop":
        stopping.stop(visit.recipient, how=Recipient.How.LINK, now=visit.now)
    elif step == "start":
        stopping.start_again(visit.recipient, how=Recipient.How.LINK, now=visit.now)
    return redirect(request.path)
