"""Why a follow-up may not be signed off yet. Pure: what stands open goes in, sentences for staff come out.

Source: clinical defaults, 7 and 10: closing is on day 14, after the wound reviews of days 3 and 10.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass


@dataclass(frozen=True)
class Standing:
    """What stands open in one follow-up. Dates are the practice's; `reviews` are days of wound reviews not yet done."""

    today: dt.date
    closes_on: dt.date
    open_flags: tuple[str, ...] = ()
    reviews: tuple[int, ...] = ()
    words_unread: int = 0
    waits_for_vet: bool = False
    paused: str = ""
    ended: bool = False


def reasons_against(standing: Standing) -> tuple[str, ...]:
    """Every reason why it may not be signed off now, in the order in which to clear them; none: it may."""
    if standing.ended:
        return ("This follow-up has ended already.",)
    if standing.waits_for_vet:
        return ("A vet has not confirmed this plan yet.",)
    return (*_flags(standing), *_words(standing), *_paused(standing), *_reviews(standing), *_date(standing))


def _flags(standing: Standing) -> tuple[str, ...]:
    return tuple(f"A flag is open: {each}. Review it first." for each in standing.open_flags)


def _words(standing: Standing) -> tuple[str, ...]:
    if not standing.words_unread:
        return ()
    many = standing.words_unread > 1
    return (f"{standing.words_unread} {'replies wait' if many else 'reply waits'} for a person to read.",)


def _paused(standing: Standing) -> tuple[str, ...]:
    return (f"Messages are paused: {standing.paused}.",) if standing.paused else ()


def _reviews(standing: Standing) -> tuple[str, ...]:
    return tuple(f"The wound review of day {day} has not been done." for day in standing.reviews)


def _date(standing: Standing) -> tuple[str, ...]:
    if standing.today >= standing.closes_on:
        return ()
    return (f"It closes on {standing.closes_on:%A} {standing.closes_on.day} {standing.closes_on:%B}, not before.",)
