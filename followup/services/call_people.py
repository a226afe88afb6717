"""A flag calls people: an emergency at once, an urgent case when nobody has seen it in time.

Source: clinical defaults, 1.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

from clinic.models import OnCallShift, Practice, Staff
from clinic.models.practice import A_FORTNIGHT
from followup.domain.hours import OwnerHours
from followup.domain.spans import Span, joined, span
from followup.domain.terms import Level, Species
from followup.domain.urgent import Watch, speak_by
from followup.models import Flag, Plan
from followup.services.facts import hours_of_owner, readable
from followup.services.log import log

AHEAD = dt.timedelta(days=A_FORTNIGHT)
"""So far is looked for opening hours and shifts."""


def call_people(flag: Flag, *, now: dt.datetime) -> None:
    """Begin a new round: people are alerted until somebody acknowledges. What is milder than urgent waits on the list.

    Where hours or rota cannot be read, an urgent case is told at once: a fault of ours never hides it.
    """
    if flag.level < Level.URGENT:
        return
    flag.step, flag.round_began_at, flag.next_alert_at, flag.speak_by = 0, now, now, None
    flag.acknowledged_by, flag.acknowledged_at = None, None
    flag.outcome, flag.outcome_at = "", None
    if flag.level == Level.URGENT:
        flag.speak_by, flag.next_alert_at = readable(lambda: _in_time(flag, now), otherwise=(now, now))
    flag.save()


def watch_of(flag: Flag, *, now: dt.datetime) -> Watch:
    """Opening hours, rota and the owner's day, as they are known at `now`. Four queries."""
    began = flag.round_began_at or flag.raised_at
    return _watch(flag.plan, began, flag.speak_by or began, now=now)


def openings(practice: Practice, *, since: dt.datetime, until: dt.datetime) -> tuple[Span, ...]:
    """When it is open, on the practice's clock, from the day of `since` to that of `until`."""
    days = (until - since).days + 1
    found = (span(opens, closes) for opens, closes in practice.openings(since, days=days))
    return joined(each for each in found if each is not None)


def shifts(practice: Practice, *, since: dt.datetime, until: dt.datetime) -> tuple[Span, ...]:
    """When anybody is on call."""
    rows = OnCallShift.objects.between(practice, since, until).values_list("starts_at", "ends_at")
    return joined(each for each in (span(starts, ends) for starts, ends in rows) if each is not None)


def spoken_to(plan: Plan, staff: Staff, *, now: dt.datetime) -> None:
    """Somebody of the practice has the owner on the telephone: what was urgent before that is seen by him."""
    unseen = plan.flags.open().filter(worst=Level.URGENT, acknowledged_at=None, raised_at__lt=now)
    seen = list(unseen.values_list("pk", flat=True))
    unseen.update(acknowledged_by=staff, acknowledged_at=now, next_alert_at=None)
    for pk in seen:
        log(plan, "acknowledged", f"{staff} spoke to the owner", now=now, staff=staff, flag=pk)


def _in_time(flag: Flag, now: dt.datetime) -> tuple[dt.datetime, dt.datetime]:
    """By when the owner has been spoken to, and when the first person is told if nobody has seen it."""
    plan = flag.plan
    watch = _watch(plan, now, now, now=now)
    by = speak_by(
        watch.since,
        watch.opening,
        watch.hours,
        species=Species(plan.patient.species),
        since_surgery=now - plan.surgery_ended_at,
    )
    return by, replace(watch, by=by).first_alert()


def _watch(plan: Plan, since: dt.datetime, by: dt.datetime, *, now: dt.datetime) -> Watch:
    around = {"since": min(since, now), "until": now + AHEAD}
    by_the_practice = OwnerHours(plan.practice.zone)  # his own row cannot be read: then by the usual hours
    return Watch(
        since=since.astimezone(dt.UTC),
        by=by.astimezone(dt.UTC),
        opening=openings(plan.practice, **around),
        on_call=shifts(plan.practice, **around),
        hours=readable(lambda: hours_of_owner(plan.patient.owner), otherwise=by_the_practice),
    )
