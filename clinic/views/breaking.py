"""When a page cannot be shown: staff read what went wrong, owners also the numbers that answer.

These stand on nothing that can break with the page: an owner's numbers come from a file on disk, not the database.
"""

from __future__ import annotations

import re

from django.http import HttpRequest, HttpResponse
from django.views import defaults

from clinic.services.emergency_pages import emergency_page

OWNERS_PATH = re.compile(r"/o/(?P<practice>[^/]+)(/|$)")
"""Where owners' pages live, and whose they are."""


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """400: what arrived could not be read."""
    return _who_to_phone(request, 400) or defaults.bad_request(request, exception)


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    """403: not this person's to open."""
    return _who_to_phone(request, 403) or defaults.permission_denied(request, exception)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """404: nothing there, or another practice's."""
    return _who_to_phone(request, 404) or defaults.page_not_found(request, exception)


def broken(request: HttpRequest) -> HttpResponse:
    """500: our fault."""
    return _who_to_phone(request, 500) or defaults.server_error(request)


def _who_to_phone(request: HttpRequest, status: int) -> HttpResponse | None:
    """The practice's emergency page, at an owner's address; None elsewhere, or where no such practice is."""
    owners = OWNERS_PATH.match(request.path_info)
    page = emergency_page(owners["practice"]) if owners else None
    if page is None:
        return None
    return HttpResponse(page, status=status, headers={"Cache-Control": "no-store", "Referrer-Policy": "no-referrer"})
