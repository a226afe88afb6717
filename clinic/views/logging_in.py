"""Log in, choose a practice, set a first password."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LoginView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from clinic import clock
from clinic.access import PRACTICE, member, memberships
from clinic.forms import FirstPasswordForm, LogInForm, PracticeForm
from clinic.services.use_set_up_code import use_set_up_code, whose_code

log_in = LoginView.as_view(
    template_name="clinic/log_in.html", authentication_form=LogInForm, redirect_authenticated_user=True
)


@require_http_methods(["GET", "POST"])
def choose_practice(request: HttpRequest) -> HttpResponse:
    """At which of one's practices this session works."""
    here = member(request)
    form = PracticeForm(request.POST or None, among=memberships(request), initial={"practice": here.practice_id})
    if request.method == "POST" and form.is_valid():
        request.session[PRACTICE] = form.cleaned_data["practice"]
        return redirect("followup:morning")
    return render(request, "clinic/choose_practice.html", {"form": form}, status=400 if form.errors else 200)


@login_not_required
@never_cache
@sensitive_post_parameters()
@require_http_methods(["GET", "POST"])
def set_up(request: HttpRequest, code: str) -> HttpResponse:
    """A new member of staff chooses a password with the one-time code in the address."""
    now = clock.now()
    staff = whose_code(code, now=now)
    if staff is None:
        return _spent(request)
    form = FirstPasswordForm(request.POST or None, staff=staff)
    if request.method == "POST" and form.is_valid():
        if use_set_up_code(code, password=form.cleaned_data["password"], now=now) is None:
            return _spent(request)
        messages.success(request, _("Your password is set. Log in with it."))
        return redirect("clinic:log-in")
    page = {"form": form, "staff": staff}
    return render(request, "clinic/set_up.html", page, status=400 if form.errors else 200)


def _spent(request: HttpRequest) -> HttpResponse:
    """Wrong, used and run out look the same, so that a guess learns nothing."""
    return render(request, "clinic/set_up_spent.html", status=404)
