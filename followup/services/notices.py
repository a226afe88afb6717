"""What the owner is written about once: kept apart two weeks longer, together again, day 30; and after a bad night.

Source: clinical defaults, 7: dates after day 14 get a message two weeks before and on the day; day 30 one tap.
13: after an emergency that nobody was on call for he is asked on waking whether he reached a vet.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator

from followup.domain.compiled import CompiledPlan
from followup.domain.hours import DAY, OwnerHours
from followup.domain.terms import Level
from followup.domain.wording import APART_OVER, APART_SOON, DAY_30, REACHED_A_VET, Text
from followup.models import Flag, Message, Notice, Plan
from followup.services.facts import hours_of
from followup.services.log import log
from followup.services.one_by_one import one_by_one
from followup.services.outbox import queue_to_owner
from followup.services.people import first_recipients
from followup.services.texts import fill, words_of

APART = "kept_apart_from_entire_females"
TWO_WEEKS = 14 * DAY
THIRTY = 30
STILL_OF_USE = 7 * DAY
"""A notice later than this, after an outage, is left: the date is long past."""

LASTS = 2 * DAY
MOST_AT_ONCE = 200
TEXTS: dict[Notice.Kind, Text] = {
    Notice.Kind.APART_SOON: APART_SOON,
    Notice.Kind.APART_OVER: APART_OVER,
    Notice.Kind.DAY_30: DAY_30,
    Notice.Kind.REACHED_VET: REACHED_A_VET,
}
THE_MORNING = dt.timedelta(hours=12)
"""So long after the waking the question about the night is of use."""


def dates_of(plan: Plan, compiled: CompiledPlan, hours: OwnerHours) -> Iterator[tuple[Notice.Kind, dt.datetime]]:
    """Which notices this plan has, and when."""
    for each in compiled.restrictions:
        if each.what == APART and each.until > compiled.sign_off_at:
            until = hours.local(each.until)
            yield Notice.Kind.APART_SOON, hours.instant(until.date() - TWO_WEEKS, until.time())
            yield Notice.Kind.APART_OVER, each.until
    yield Notice.Kind.DAY_30, hours.evening_on(plan.operated_on + THIRTY * DAY)


def keep_dates(plan: Plan, compiled: CompiledPlan, hours: OwnerHours) -> None:
    """Make them, or move those that have not gone out to the hours of a changed plan. Inside a transaction."""
    for kind, at in dates_of(plan, compiled, hours):
        notice, made = Notice.objects.get_or_create(
            plan=plan, kind=kind, defaults={"practice_id": plan.practice_id, "at": at}
        )
        if not made and notice.done_at is None and notice.at != at:
            Notice.objects.filter(pk=notice.pk, done_at=None).update(at=at)


def ask_on_waking(plan: Plan, *, began: dt.datetime, now: dt.datetime) -> None:
    """Nobody here could see an emergency: on waking he is asked whether he reached a vet, once for what began then."""
    notices = plan.notices.filter(kind=Notice.Kind.REACHED_VET)
    if plan.paused or notices.filter(at__gt=began).exists():
        return
    at = hours_of(plan).next_waking(now)
    Notice.objects.update_or_create(
        plan=plan,
        kind=Notice.Kind.REACHED_VET,
        defaults={"at": at, "done_at": None, "answer": ""},
        create_defaults={"practice_id": plan.practice_id, "at": at},
    )


def send_notices(*, now: dt.datetime) -> None:
    """From the tick: whatever has become due. Safe to run twice, and twice at once."""
    due = Notice.objects.to_send(now).select_related("plan__practice", "plan__patient__owner").order_by("at", "pk")
    one_by_one(due[:MOST_AT_ONCE], lambda notice: _send(notice, now=now), lambda notice: [notice.plan], now=now)


def _send(notice: Notice, *, now: dt.datetime) -> None:
    """Whoever takes it queues it, unless it is too late to be of use."""
    if not Notice.objects.filter(pk=notice.pk, done_at=None).update(done_at=now):
        return
    plan = notice.plan
    night = notice.kind == Notice.Kind.REACHED_VET
    if night and not still_open(plan):
        return  # somebody has spoken to him since
    if now - notice.at > (THE_MORNING if night else STILL_OF_USE):
        log(plan, "notice_left", f"{notice.get_kind_display()}: too late to be of use", now=now)
        return
    for recipient in first_recipients(plan, now=now):
        if notice.kind == Notice.Kind.DAY_30 and recipient.stopped_at is not None:
            continue  # one tap, for our learning: nothing to ring about
        queue_to_owner(
            plan,
            recipient,
            purpose=Message.Purpose.NEWS,
            key=f"notice:{notice.pk}{f':{notice.at:%Y%m%d}' if night else ''}:{recipient.pk}",
            text=fill(
                TEXTS[Notice.Kind(notice.kind)],
                of=plan.practice,
                language=recipient.person.language,
                **words_of([plan]),
            ),
            now=now,
            expires_at=now + (THE_MORNING if night else LASTS),
        )


def still_open(plan: Plan) -> bool:
    """Whether an emergency waits of which nobody has spoken to the owner."""
    waiting = plan.flags.open().filter(worst=Level.EMERGENCY)
    return waiting.exclude(outcome__in=Flag.IN_HANDS).exists()


def to_ask_on_waking(plans: Iterable[Plan], *, now: dt.datetime) -> tuple[Plan, ...]:
    """Of which of these it is asked now whether a vet was reached, and not yet answered."""
    waiting = Notice.objects.whether_reached(now).filter(plan__in=list(plans), at__gt=now - THE_MORNING, answer="")
    found = waiting.select_related("plan__patient").order_by("at", "pk")
    return tuple(notice.plan for notice in found if still_open(notice.plan))
