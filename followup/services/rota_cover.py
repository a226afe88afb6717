"""Whether somebody is always there or on call in the coming 14 days, in sentences. Writes nothing."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from clinic.models import Practice
from followup.domain.hours import DAY
from followup.domain.rota import has_night_cover, holes
from followup.domain.spans import Span
from followup.services.call_people import openings, shifts
from followup.services.rota_words import from_to, hole_sentence, no_night_cover_sentence

LOOKED_AHEAD = 14 * DAY


@dataclass(frozen=True)
class Cover:
    """`holes`: each span in which nobody is there or on call, in a sentence of its own; none: somebody always is.

    `no_nights`: nobody is on call at night at all. Then that is said once, and `holes` are only spans.
    """

    holes: tuple[str, ...]
    no_nights: str


def cover(practice: Practice, *, now: dt.datetime) -> Cover:
    """The coming 14 days. One query, two for the practice's hours, and one for who treats which species."""
    found, nights = _looked_at(practice, now)
    if nights:
        return Cover(tuple(hole_sentence(each, practice) for each in found), "")
    return Cover(tuple(from_to(each, practice.zone) for each in found), no_night_cover_sentence(practice))


def cover_line(practice: Practice, *, now: dt.datetime) -> str:
    """The same in one line; empty: somebody is always there or on call. One query, and two for the practice's hours."""
    found, nights = _looked_at(practice, now)
    if not nights:
        return "Nobody is on call at night."
    more = f", and in {len(found) - 1} more spans of the next 14 days" if len(found) > 1 else ""
    return f"Nobody is on call {from_to(found[0], practice.zone)}{more}." if found else ""


def _looked_at(practice: Practice, now: dt.datetime) -> tuple[tuple[Span, ...], bool]:
    """The holes, and whether anybody is on call in any night."""
    window = Span(now.astimezone(dt.UTC), now.astimezone(dt.UTC) + LOOKED_AHEAD)
    opening = openings(practice, since=window.starts, until=window.ends)
    rota = shifts(practice, since=window.starts, until=window.ends)
    return holes(rota, opening, window), has_night_cover(rota, opening, window, practice.zone)
