"""For watchers outside: 200 while sending works, 503 when it has been down for three minutes."""

from __future__ import annotations

from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError
from django.http import HttpRequest, JsonResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from clinic import clock
from followup.services.health import cannot_be_asked
from followup.services.health import health as health_of


@login_not_required
@never_cache
@require_safe
def health(_request: HttpRequest) -> JsonResponse:
    """Times and reasons only: nothing of a practice."""
    try:
        found = health_of(clock.now())
    except DatabaseError:
        found = cannot_be_asked()
    return JsonResponse(found, status=200 if found["ok"] else 503)
