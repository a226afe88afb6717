"""How a practice's messages leave: each medium, the services that may carry it, and a test to oneself."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_safe

from clinic import clock
from clinic.access import member, roles
from clinic.models import Membership, Role
from followup.domain.terms import FollowUpError
from followup.forms.channel import ChannelForm
from followup.messaging.catalogue import services_for
from followup.messaging.service import Service
from followup.models import Message
from followup.services.channel_list import Shown, channel_list, shown_channel
from followup.services.set_up_channel import filled_in, remove_channel, set_up_channel
from followup.services.try_channel import try_channel


@require_safe
@roles(Role.VET, Role.ADMINISTRATOR)
def channels(request: HttpRequest) -> HttpResponse:
    """Each medium: by what it leaves now, the last test, and whether anything stands against it."""
    here = member(request)
    shown = channel_list(here.practice, now=clock.now())
    return render(request, "followup/staff/channels.html", {"shown": shown, "member": here})


@sensitive_post_parameters()
@require_http_methods(["GET", "POST"])
@roles(Role.VET, Role.ADMINISTRATOR)
def channel(request: HttpRequest, medium: str) -> HttpResponse:
    """Choose a service, fill it in, try it, or remove it. Every POST that does something leads back by a redirect."""
    here = member(request)
    shown = shown_channel(here.practice, Message.Medium(medium), now=clock.now())
    service = _service(request, shown)
    if request.method == "POST":
        return _done(request, here, shown, service)
    return _page(request, here, shown, service, None)


def _done(request: HttpRequest, here: Membership, shown: Shown, service: Service | None) -> HttpResponse:
    step = request.POST.get("step", "")
    try:
        if step == "remove":
            if remove_channel(here.practice, shown.medium, staff=here.staff, now=clock.now()):
                messages.success(request, "Removed.")
        elif step == "try":
            try_channel(here.practice, shown.medium, staff=here.staff, now=clock.now())
        elif service is None:
            raise Http404
        else:
            return _saved(request, here, shown, service, tries=step == "save_and_try")
    except FollowUpError as fault:
        messages.error(request, str(fault))
    return redirect(shown.page)


def _saved(request: HttpRequest, here: Membership, shown: Shown, service: Service, *, tries: bool) -> HttpResponse:
    before = filled_in(here.practice, shown.medium, service)
    form = ChannelForm(service, shown.medium, request.POST, before)
    if not form.is_valid():
        return _page(request, here, shown, service, form)
    try:
        set_up_channel(here.practice, shown.medium, form.url(), staff=here.staff, now=clock.now())
    except FollowUpError as fault:
        form.add_error(fault.field if fault.field in form.fields else None, str(fault))
        return _page(request, here, shown, service, form)
    messages.success(request, "Saved.")
    if tries:
        try_channel(here.practice, shown.medium, staff=here.staff, now=clock.now())
    return redirect(shown.page)


def _service(request: HttpRequest, shown: Shown) -> Service | None:
    """The service that was asked for, else the one in force, else the only one there is."""
    offered = {each.key: each for each in services_for(shown.medium)}
    asked = request.POST.get("service") or request.GET.get("service", "")
    if asked and asked not in offered:
        raise Http404
    own = shown.service if shown.own else None
    return offered.get(asked) or own or (next(iter(offered.values())) if len(offered) == 1 else None)


def _page(
    request: HttpRequest, here: Membership, shown: Shown, service: Service | None, form: ChannelForm | None
) -> HttpResponse:
    if form is None and service is not None:
        form = ChannelForm(service, shown.medium, None, filled_in(here.practice, shown.medium, service))
    context = {
        "member": here,
        "shown": shown,
        "offered": services_for(shown.medium),
        "service": service,
        "form": form,
    }
    status = 422 if form is not None and form.errors else 200
    response = render(request, "followup/staff/channel.html", context, status=status)
    response["Cache-Control"] = "no-store"
    return response
