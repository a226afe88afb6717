"""What a phone shows where there is no net at all: the numbers of the practice, and nothing about anybody."""

from __future__ import annotations

from pathlib import Path

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_safe

from clinic.services.emergency_pages import emergency_page

WORKER = Path(settings.BASE_DIR) / "followup" / "static" / "followup" / "offline.js"


@login_not_required
@require_safe
@cache_control(max_age=3600)
def no_net(_request: HttpRequest, practice: str) -> HttpResponse:
    """Who answers at which hour, for every species."""
    text = emergency_page(practice)
    if text is None:
        raise Http404
    return HttpResponse(text)


@login_not_required
@require_safe
@cache_control(no_cache=True)
def worker(_request: HttpRequest) -> HttpResponse:
    """The script that keeps that page. It stands here because it may look after addresses below its own alone."""
    return HttpResponse(WORKER.read_bytes(), content_type="text/javascript; charset=utf-8")
