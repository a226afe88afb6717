"""Every patient of the practice: to find one again."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from clinic.access import member
from followup.forms.search import SearchForm
from followup.services.patient_search import search


@require_safe
def patients(request: HttpRequest) -> HttpResponse:
    """A page of follow-ups that fit what is asked for in the address."""
    here = member(request)
    form = SearchForm(request.GET)
    form.is_valid()
    wanted = form.wanted()
    asked = request.GET.copy()
    asked.pop("page", None)
    context = {
        "member": here,
        "form": form,
        "wanted": wanted,
        "found": search(here.practice, wanted, page=request.GET.get("page", "1")),
        "asked": asked.urlencode(),
    }
    return render(request, "followup/staff/patients.html", context)
