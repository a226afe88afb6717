"""The lines above every page of staff while something keeps messages from going out, the worst first.

They say what does not work, since when, and what to do meanwhile; what is only worth knowing is calm.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from clinic.models import Practice
from followup.services.sending_state import Hindrance, SendingState, Span, Trouble, is_shut, medium_of
from followup.services.sending_words import clock_words, reason, way_words

PHONE = "Phone owners from the morning list until it works again."
CLOCK_WORDS = {"clock_set_back": "was set back", "clock_jumped": "jumped"}


@dataclass(frozen=True)
class Banner:
    """One line. `what` is a stable word; `urgent`: red, and said at once by a screen reader."""

    what: str
    words: str
    then: str = ""
    urgent: bool = False


def banners(state: SendingState, practice: Practice) -> tuple[Banner, ...]:
    """Everything that a page of this practice must say now."""
    return tuple(_all(state, practice))


def _all(state: SendingState, practice: Practice) -> Iterator[Banner]:
    zone, now = practice.zone, state.now
    yield from _down(state, zone)
    if state.held is not None:
        began, ended = (clock_words(each, zone, now=now) for each in (state.held.began, state.held.ended))
        yield Banner(
            "held",
            f"Restored from an older backup: what happened from {began} to {ended} is not known here.",
            "Nothing is sent to owners until a vet or an administrator confirms it on the page Sending.",
            urgent=True,
        )
    yield from _shut(state, zone)
    if state.only_this_screen:
        yield Banner(
            "only_this_screen",
            "Emergencies reach only this screen: no way to alert people is set up.",
            "Somebody must keep it open and look.",
            urgent=True,
        )
    if state.clock_fault is not None:
        name, at = state.clock_fault
        when = clock_words(at, zone, now=now)
        yield Banner(
            "clock", f"The clock of this machine {CLOCK_WORDS[name]} at {when}.", "Times may be wrong by that."
        )
    if state.caught_up is not None:
        began, ended = (clock_words(each, zone, now=now) for each in (state.caught_up.began, state.caught_up.ended))
        yield Banner(
            "catching_up",
            f"{_what_happened(state.caught_up)} from {began} to {ended}.",
            "What had piled up goes out slowly, the newest first; what was too late is a call on the morning list.",
        )
    if practice.messages_paused:
        since = f" since {clock_words(practice.paused_at, zone, now=now)}" if practice.paused_at is not None else ""
        why = f": {practice.paused_why}" if practice.paused_why else ""
        yield Banner("paused", f"All messages to owners are paused{since}{why}.", "Alerts to staff go on.")


def _what_happened(span: Span) -> str:
    return "Nothing was sent after a backup was restored, with what was lost" if span.restored else "Sending was down"


def _down(state: SendingState, zone: dt.tzinfo) -> Iterator[Banner]:
    """One line, however many reasons; the page Sending has them all."""
    still = [each for each in state.hindrances if each.trouble is not Trouble.SHUT]
    if still:
        yield Banner("down", f"Sending is down. {reason(still[0], zone, now=state.now)}", PHONE, urgent=True)


def _shut(state: SendingState, zone: dt.tzinfo) -> Iterator[Banner]:
    """Ways out that this practice uses and through which nothing gets."""
    for name in sorted(state.routes or {}):
        route = (state.routes or {})[name]
        medium = medium_of(route)
        if is_shut(route) and state.route(medium) is route:
            shut = Hindrance(Trouble.SHUT, route.since, medium, route.why)
            yield Banner("shut", reason(shut, zone, now=state.now), _meanwhile(medium), urgent=True)


def _meanwhile(medium: str) -> str:
    way = way_words(medium)
    return (
        f"Messages by {way} wait, or go another way where there is one; what cannot wait is a call on the morning list."
    )
