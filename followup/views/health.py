"""For watchers outside: 200 while sending works, 503 when it has been down for three minutes."""

from __future__ import annotations

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, JsonResponse
from django.views.decorators.http import require_safe

from clinic import clock
from followup.services.health import health as health_of


@login_not_required
@require_safe
def health(_request: HttpRequest) -> JsonResponse:
    """Times only: nothing of a practice."""
    found = health_of(clock.now())
    return JsonResponse(found, status=200 if found["ok"] else 503)
