"""What every page of staff shows above its content: what keeps messages from going out, the worst first.

A context processor, and so a door: it reads the clock. Nothing is asked of the database until a page shows it.
"""

from __future__ import annotations

from functools import cached_property

from django.http import HttpRequest

from clinic import clock
from clinic.access import at_work, memberships
from clinic.models import Practice
from followup.services.banners import Banner, banners
from followup.services.sending_state import SendingState, sending_state

KEPT = "watch_over_sending"
"""Where the request keeps it, so that a page about sending asks no second time."""


class Watch:
    """How sending stands for the practice of this session."""

    def __init__(self, request: HttpRequest) -> None:
        """Keep the request for when a page asks."""
        self._request = request

    @cached_property
    def practice(self) -> Practice | None:
        """Where whoever asks is at work; None for a stranger."""
        among = memberships(self._request)
        here = at_work(self._request, among) if among else None
        return here.practice if here is not None else None

    @cached_property
    def state(self) -> SendingState | None:
        """How sending stands there, as the database says and not as a tick last said."""
        return sending_state(now=clock.now(), practice=self.practice) if self.practice is not None else None

    @cached_property
    def banners(self) -> tuple[Banner, ...]:
        """What people must know on every page; mostly nothing."""
        if self.practice is None or self.state is None:
            return ()
        return banners(self.state, self.practice)


def watch(request: HttpRequest) -> dict[str, Watch]:
    """For every template: the watch over sending."""
    return {"watch": watch_of(request)}


def watch_of(request: HttpRequest) -> Watch:
    """The one of this request."""
    found: Watch | None = getattr(request, KEPT, None)
    if found is None:
        found = Watch(request)
        setattr(request, KEPT, found)
    return found
