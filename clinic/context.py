"""What every page knows beside what its view gives it: whether this is the demo, and who is at work where."""

from __future__ import annotations

from functools import cached_property

from django.conf import settings
from django.http import HttpRequest

from clinic.access import at_work, memberships
from clinic.models import Membership


class Here:
    """The session's member of staff. Nothing is asked of the database until a page shows it."""

    def __init__(self, request: HttpRequest) -> None:
        """Keep the request for when a page asks."""
        self._request = request

    @cached_property
    def memberships(self) -> list[Membership]:
        """Every practice that may be chosen."""
        return memberships(self._request)

    @cached_property
    def member(self) -> Membership | None:
        """Who is at work; None for a stranger."""
        return at_work(self._request, self.memberships) if self.memberships else None


def demo(_request: HttpRequest) -> dict[str, bool]:
    """Whether the practice is invented and its clock may be moved."""
    return {"demo": settings.DEMO}


def here(request: HttpRequest) -> dict[str, Here]:
    """Who is at work, and where else."""
    return {"here": Here(request)}
