"""An urgent case: by when somebody has spoken to the owner, and who is told of it until somebody has it.

Source: clinical defaults, 1: spoken to within 4 h of opening time; a small herbivore in its first 72 h before the
owner's bedtime; never later than 12 h; unseen for 60 min in opening hours → the next person; no opening within the
limit → on call in waking hours; none → the owner is told to phone the out-of-hours provider today.

"Waking hours" are the owner's, as everywhere in those tables: somebody is called so that the owner is rung, and an
owner who sleeps is not. For the same reason a limit that falls into his night is the bedtime before it.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import Enum

from followup.domain.advice import URGENT_OPENING_TIME, URGENT_WITHIN, latest_for_urgent, while_awake
from followup.domain.hours import DAY, OwnerHours
from followup.domain.spans import Span, common, held, joined, passed, span
from followup.domain.terms import Species

UNSEEN_FOR = dt.timedelta(minutes=60)
"""Unseen for so long, and the next person is told. Source: clinical defaults, 1 (D). On call the pace is the same."""

LOOKED_AT_AGAIN = URGENT_WITHIN
"""With neither opening nor rota ahead, people are looked for again after so long (ours: as long as the limit)."""


class Whom(Enum):
    """Who is told at a moment."""

    ON_DUTY = "on duty"
    ON_CALL = "on call"
    THE_OWNER = "the owner"


@dataclass(frozen=True)
class Watch:
    """What decides who is told: urgent `since`, spoken to `by`; when it is open, and when somebody is on call."""

    since: dt.datetime
    by: dt.datetime
    opening: tuple[Span, ...]
    on_call: tuple[Span, ...]
    hours: OwnerHours

    def whom(self, at: dt.datetime) -> Whom:
        """Whoever is on duty while it is open, else whoever is on call, else the owner himself."""
        if held(self.opening, at):
            return Whom.ON_DUTY
        return Whom.ON_CALL if held(self.on_call, at) else Whom.THE_OWNER

    def how_many(self, at: dt.datetime, step: int) -> int | None:
        """How many people in turn are told at step number `step` (from 0); None: everyone, since the limit is over."""
        return None if at >= self.by else step + 1

    def first_alert(self) -> dt.datetime:
        """When the first person is told, if nobody has seen it by then.

        Before that it stands on the list of those who are there. Where opening hours within the limit are shorter than
        what may pass unseen, they are told as soon as it is open.
        """
        in_time = _between(self.since, self.by)
        opening = common(self.opening, in_time)
        if opening:
            return passed(opening, self.since, UNSEEN_FOR) or opening[0].starts
        return passed(common(self._on_call_awake(), in_time), self.since) or self.since

    def next_alert(self, last: dt.datetime) -> dt.datetime:
        """When the next person is told after the alert at `last`, and at the limit everyone. Always after `last`."""
        watched = self._watched()
        before = common(watched, _between(last, self.by))
        if before:
            return passed(before, last, UNSEEN_FOR) or self.by
        after = passed(watched, self.by) if last < self.by else passed(watched, last, UNSEEN_FOR)
        return after or last + LOOKED_AT_AGAIN

    def put_off(self, due: dt.datetime, now: dt.datetime) -> dt.datetime | None:
        """Until when an alert waits that an outage has delayed into the owner's night; None: it goes now.

        Its limit is over, and nobody can ring him before that: whoever is on call is not woken for it.
        """
        watched = self._watched()
        if now - due < UNSEEN_FOR or now < self.by or held(watched, now):
            return None
        return passed(watched, now)

    def _watched(self) -> tuple[Span, ...]:
        """When somebody is on duty, or is on call and may ring the owner."""
        return joined([*self.opening, *self._on_call_awake()])

    def _on_call_awake(self) -> tuple[Span, ...]:
        """When somebody is on call and the owner may be rung."""
        if not self.on_call:
            return ()
        first = self.hours.local(self.on_call[0].starts).date() - DAY
        last = self.hours.local(max(each.ends for each in self.on_call)).date()
        days = (first + number * DAY for number in range((last - first).days + 1))
        awake = (span(self.hours.wakes_on(day), self.hours.sleeps_on(day)) for day in days)
        return common(self.on_call, [each for each in awake if each is not None])


def speak_by(
    since: dt.datetime,
    opening: tuple[Span, ...],
    hours: OwnerHours,
    *,
    species: Species,
    since_surgery: dt.timedelta,
) -> dt.datetime:
    """By when somebody has spoken to the owner of a case that is urgent since then."""
    limit = latest_for_urgent(since, hours, species=species, since_surgery=since_surgery)
    opened = passed(opening, since, URGENT_OPENING_TIME)
    return limit if opened is None else while_awake(min(limit, opened), since, hours)


def _between(starts: dt.datetime, ends: dt.datetime) -> tuple[Span, ...]:
    found = span(starts, ends)
    return () if found is None else (found,)
