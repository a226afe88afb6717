"""Who asks: the member of staff, the practice he works at in this session, and his role there."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse

from clinic.models import Membership, Role, Staff

PRACTICE = "practice"
"""Where the session keeps the practice that was chosen."""
P = ParamSpec("P")
View = Callable[Concatenate[HttpRequest, P], HttpResponse]


def member(request: HttpRequest) -> Membership:
    """The membership of this session; the first practice until another is chosen. Raises PermissionDenied."""
    if not isinstance(request.user, Staff):
        raise PermissionDenied
    memberships = list(Membership.objects.of(request.user).order_by("pk"))
    chosen = request.session.get(PRACTICE)
    found = next((each for each in memberships if each.practice_id == chosen), None) or next(iter(memberships), None)
    if found is None:
        raise PermissionDenied
    return found


def roles(*allowed: Role) -> Callable[[View[P]], View[P]]:
    """Only for these roles at the practice of this session; anybody else gets 403."""

    def closed(view: View[P]) -> View[P]:
        @wraps(view)
        def asked(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
            if member(request).role not in allowed:
                raise PermissionDenied
            return view(request, *args, **kwargs)

        return asked

    return closed
