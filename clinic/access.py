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
FOUND = "memberships_found"
"""Where the request keeps who works where."""
P = ParamSpec("P")
View = Callable[Concatenate[HttpRequest, P], HttpResponse]


def memberships(request: HttpRequest) -> list[Membership]:
    """Every practice where whoever asks works; none for a stranger. The database is asked once in a request."""
    user = getattr(request, "user", None)  # a request that failed early has none
    if not isinstance(user, Staff):
        return []
    found: tuple[int, list[Membership]] | None = getattr(request, FOUND, None)
    if found is None or found[0] != user.pk:
        found = (user.pk, list(Membership.objects.of(user).order_by("pk")))
        for each in found[1]:
            each.staff = user  # known already: no page asks for the name again
        setattr(request, FOUND, found)
    return found[1]


def at_work(request: HttpRequest, among: list[Membership]) -> Membership | None:
    """The membership of this session; the first until another is chosen."""
    chosen = request.session.get(PRACTICE)
    return next((each for each in among if each.practice_id == chosen), None) or next(iter(among), None)


def member(request: HttpRequest) -> Membership:
    """The membership of this session; the first practice until another is chosen. Raises PermissionDenied."""
    found = at_work(request, memberships(request))
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
