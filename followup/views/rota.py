"""Who is on call when: two weeks by day, what is missing, and changing it. Days on which the practice differs."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from clinic import clock
from clinic.access import member, roles
from clinic.models import Membership, OnCallShift, OpeningException, Role
from followup.domain.terms import FollowUpError
from followup.forms.rota import DaysForm, HandOverForm, RotaForm, ShiftForm
from followup.services.keep_rota import add_shifts, as_in_other_weeks, hand_over, keep_days, people, swap, take_away
from followup.services.rota_page import rota_page, shift_shown, to_come

MAY_CHANGE = (Role.VET, Role.ADMINISTRATOR)


@require_http_methods(["GET", "HEAD", "POST"])
def rota(request: HttpRequest) -> HttpResponse:
    """All staff look; vets and administrators add shifts and dates."""
    here = member(request)
    if request.method != "POST":
        return _page(request, here, {})
    if here.role not in MAY_CHANGE:
        raise PermissionDenied
    return _add_dates(request, here) if request.POST.get("step") == "dates" else _add_shift(request, here)


@require_http_methods(["GET", "HEAD", "POST"])
@roles(*MAY_CHANGE)
def shift(request: HttpRequest, pk: int) -> HttpResponse:
    """One shift: hand it over, swap it, or take it away."""
    here, now = member(request), clock.now()
    rows = OnCallShift.objects.select_related("staff", "practice")
    found = get_object_or_404(rows, pk=pk, practice=here.practice)
    others = [each for each in to_come(here.practice, now=now) if each.pk != found.pk]
    typed = request.POST if request.method == "POST" and request.POST.get("step") != "take_away" else None
    form = HandOverForm(found, people(here.practice), others, here.practice, typed)
    if request.method == "POST" and typed is None:
        take_away(found, staff=here.staff, now=now)
        messages.success(request, "Taken away. Look below whether somebody is on call then.")
        return redirect("followup:rota")
    if form.is_valid() and _kept(form, lambda: _handed_over(form, found, here)):
        messages.success(request, "Saved.")
        return redirect("followup:rota")
    context = {"member": here, "shift": shift_shown(found, here.practice), "form": form}
    return render(request, "followup/staff/shift.html", context, status=422 if form.checked else 200)


@require_POST
@roles(*MAY_CHANGE)
def usual_day(request: HttpRequest, pk: int) -> HttpResponse:
    """A date is as in other weeks again."""
    here = member(request)
    day = get_object_or_404(OpeningException, pk=pk, practice=here.practice)
    as_in_other_weeks(day, staff=here.staff, now=clock.now())
    messages.success(request, "That day is as in other weeks again.")
    return redirect("followup:rota")


def _add_shift(request: HttpRequest, here: Membership) -> HttpResponse:
    form = ShiftForm(people(here.practice), request.POST)
    if form.is_valid() and _kept(form, lambda: _added(form, here)):
        messages.success(request, "Added.")
        return redirect("followup:rota")
    return _page(request, here, {"shift": form})


def _add_dates(request: HttpRequest, here: Membership) -> HttpResponse:
    form = DaysForm(request.POST)
    if form.is_valid() and _kept(
        form, lambda: keep_days(here.practice, form.days(), staff=here.staff, now=clock.now())
    ):
        messages.success(request, "Saved.")
        return redirect("followup:rota")
    return _page(request, here, {"days": form})


def _added(form: ShiftForm, here: Membership) -> None:
    add_shifts(here.practice, form.shifts(), staff=here.staff, now=clock.now())


def _handed_over(form: HandOverForm, found: OnCallShift, here: Membership) -> None:
    chosen = form.cleaned_data["to"]
    if chosen in form.people:
        hand_over(found, form.people[chosen], staff=here.staff, now=clock.now())
    else:
        swap(found, form.others[chosen], staff=here.staff, now=clock.now())


def _kept(form: RotaForm, keep: Callable[[], object]) -> bool:
    """Whether it was kept; what stands against it is said at its field."""
    try:
        keep()
    except FollowUpError as fault:
        form.refuse(fault)
        return False
    return True


def _page(request: HttpRequest, here: Membership, typed: dict[str, RotaForm]) -> HttpResponse:
    now = clock.now()
    changes = here.role in MAY_CHANGE
    today = now.astimezone(here.practice.zone).date()
    context = {
        "member": here,
        "shown": rota_page(here.practice, first=_day(request.GET.get("from", "")), now=now),
        "changes": changes,
        "shift_form": typed.get("shift") or (ShiftForm(people(here.practice), first_day=today) if changes else None),
        "days_form": typed.get("days") or DaysForm(),
    }
    return render(request, "followup/staff/rota.html", context, status=422 if typed else 200)


def _day(text: str) -> dt.date | None:
    """The first day asked for; None when it is none, or so far off that nothing can be reckoned from it."""
    try:
        found = dt.date.fromisoformat(text)
    except ValueError:
        return None
    return found if 2000 <= found.year < 2100 else None  # noqa: PLR2004 - years that a calendar can show
