"""The practice's texts: every message to owners, each to be read, tried and written in own words."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from clinic import clock
from clinic.access import member, roles
from clinic.models import Membership, Role
from followup.domain.own_words import MEANINGS, Part, allowed, in_full
from followup.domain.reading_grade import HARDEST
from followup.domain.terms import FollowUpError
from followup.domain.wording import BY_KEY, Text
from followup.forms.texts import OwnTextForm
from followup.models import Message
from followup.services.change_text import change_text, give_up_own_text, seen_of
from followup.services.practice_texts import Shown, changes_of, languages_of, preview_of, text_of, texts_of
from followup.services.send_test import send_test
from followup.services.texts import Slot

SAVE, OURS = "save", "ours"
TESTS = {"test_email": Message.Medium.EMAIL, "test_sms": Message.Medium.SMS}


@require_safe
@roles(Role.ADMINISTRATOR, Role.VET)
def texts(request: HttpRequest) -> HttpResponse:
    """Each text as it is sent now, and whose words it is in."""
    here = member(request)
    language = _language(request, here)
    context = {
        "member": here,
        "shown": texts_of(here.practice, language=language),
        "language": language,
        "languages": languages_of(here.practice),
    }
    return render(request, "followup/staff/texts.html", context)


@require_http_methods(["GET", "POST"])
@roles(Role.ADMINISTRATOR, Role.VET)
def text(request: HttpRequest, key: str) -> HttpResponse:
    """Read one, look at own words before they are sent to anybody, try them, keep them, or go back to ours."""
    here = member(request)
    ours = BY_KEY.get(key)
    if ours is None:
        raise Http404
    slot = Slot(here.practice, ours, _language(request, here))
    if request.POST.get("do") == OURS:
        give_up_own_text(slot, staff=here.staff, now=clock.now())
        messages.success(request, "Our text is sent again.")
        return redirect(_address(slot))
    shown = text_of(slot)
    form = OwnTextForm(ours, shown.typed, seen_of(shown.own), request.POST if request.method == "POST" else None)
    if not form.checked or not form.is_valid():
        return _page(request, here, shown, form)
    return _do(request, here, shown, form)


def _do(request: HttpRequest, here: Membership, shown: Shown, form: OwnTextForm) -> HttpResponse:
    """What was asked for of words that are in order: keep, try, or only look."""
    do, said = request.POST.get("do", ""), ""
    try:
        if do == SAVE:
            change_text(shown.slot, form.own(), seen=form.cleaned_data["seen"], staff=here.staff, now=clock.now())
            messages.success(request, "Saved. It is sent in these words from now on.")
            return redirect(_address(shown.slot))
        if do in TESTS:
            whole = preview_of(shown.slot, in_full(form.own(), form.ours)).text
            said = send_test(here.practice, whole, medium=TESTS[do], staff=here.staff, now=clock.now())
    except FollowUpError as refused:
        form.add_error(refused.field if refused.field in form.fields else None, str(refused))
    return _page(request, here, shown, form, said)


def _page(request: HttpRequest, here: Membership, shown: Shown, form: OwnTextForm, said: str = "") -> HttpResponse:
    refused = form.checked and not form.is_valid()
    typed = in_full(form.own(), form.ours) if form.checked and not refused else None
    context = {
        "member": here,
        "shown": shown,
        "page": form,
        "refused": refused,
        "preview": preview_of(shown.slot, typed) if typed is not None else shown.preview,
        "said": said,
        "hardest": HARDEST,
        "fields": [(form[part.value], _placeholders(form.ours, part), part.most) for part in Part],
        "changes": changes_of(shown.slot),
    }
    return render(request, "followup/staff/text.html", context, status=422 if refused else 200)


def _placeholders(ours: Text, part: Part) -> list[tuple[str, str, bool]]:
    """Name, what it becomes, and whether it must stand there."""
    known = allowed(ours, part)
    return [(f"{{{name}}}", MEANINGS[name], name in known.must) for name in known.may]


def _language(request: HttpRequest, here: Membership) -> str:
    known = languages_of(here.practice)
    asked = request.GET.get("language", "")
    return asked if asked in known else known[0]


def _address(slot: Slot) -> str:
    return f"{reverse('followup:text', kwargs={'key': slot.ours.key})}?language={slot.language}"
