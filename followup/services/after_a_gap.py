"""What a gap has overtaken is not asked late, and not asked twice: it is written down, in one call for each patient.

Every step is one conditional update, so that each tick may take it again while the gap lasts.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from functools import partial

from django.db.models import QuerySet

from clinic.models import Practice
from followup.models import CheckIn, Dose, Gap, Message, Notice, Plan, Task
from followup.services.log import log
from followup.services.not_sent import line_of, lines_of, list_for_a_call, not_sent
from followup.services.one_by_one import one_by_one
from followup.services.unasked import were_not_asked

WHOLE = ("plan__practice", "plan__patient__owner")
PERHAPS = " (perhaps sent)"
Row = CheckIn | Dose


def leave_what_is_past(gap: Gap, *, now: dt.datetime) -> None:
    """After an outage: questions whose answer was wanted by now, and doses that it is too late to give."""
    check_ins = CheckIn.objects.to_ask(now).filter(answer_by__lte=now)
    doses = _to_remind(now).filter(give_until__lte=now, give_until__gt=gap.began_at)
    _leave([*check_ins.select_related(*WHOLE), *doses.select_related(*WHOLE)], gap, not_sent(gap), now=now)


def leave_what_may_have_gone(gap: Gap, *, now: dt.datetime) -> None:
    """After a backup was put back: whatever fell due before it may have gone out already."""
    _park(gap, now=now)
    check_ins = CheckIn.objects.to_ask(gap.ended_at).select_related(*WHOLE)
    doses = _to_remind(gap.ended_at).select_related(*WHOLE)
    _leave([*check_ins, *doses], gap, PERHAPS, now=now)
    CheckIn.objects.to_remind(gap.ended_at).update(remind_at=None)
    notices = Notice.objects.to_send(gap.ended_at).select_related(*WHOLE)
    one_by_one(notices, partial(_leave_notice, gap, now=now), lambda notice: [notice.plan], now=now)
    _ask_what_was_lost(gap, now=now)


def _to_remind(until: dt.datetime) -> QuerySet[Dose]:
    return Dose.objects.filter(
        plan__state=Plan.State.RUNNING,
        plan__paused="",
        state=Dose.State.PLANNED,
        reminded_at__isnull=True,
        at__lte=until,
    )


def _leave(rows: Iterable[Row], gap: Gap, how: str, *, now: dt.datetime) -> None:
    """Patient by patient; what fails becomes a task, as everywhere."""
    of_plans: dict[Plan, list[Row]] = {}
    for row in rows:
        of_plans.setdefault(row.plan, []).append(row)
    one_by_one(of_plans.items(), lambda each: _leave_those(*each, gap, how, now=now), lambda each: [each[0]], now=now)


def _leave_those(plan: Plan, rows: list[Row], gap: Gap, how: str, *, now: dt.datetime) -> None:
    left = [f"{line_of(row)}{how}" for row in sorted(rows, key=lambda row: row.at) if _left(row, now=now)]
    if left:
        list_for_a_call(gap, plan, left, now=now)


def _left(row: Row, *, now: dt.datetime) -> bool:
    """Whether it is this worker that leaves it. A question counts as one that could not be asked."""
    if isinstance(row, Dose):
        return Dose.objects.filter(pk=row.pk, state=Dose.State.PLANNED, reminded_at=None).update(reminded_at=now) == 1
    waiting = CheckIn.objects.filter(pk=row.pk, state=CheckIn.State.PLANNED)
    return waiting.update(state=CheckIn.State.ASKED, could_not_be_asked=True, remind_at=None) == 1


def _park(gap: Gap, *, now: dt.datetime) -> None:
    """Ready, or in the hands of a worker when the backup was made: nobody knows whether they have gone."""
    waiting = Message.objects.to_owners().filter(state__in=[Message.State.READY, Message.State.LEASED])
    mine = waiting.filter(not_before__lte=gap.ended_at).select_related("plan__practice", "plan__patient__owner")
    one_by_one(mine, partial(_park_one, gap, now=now), lambda row: [row.plan] if row.plan else [], now=now)


def _park_one(gap: Gap, message: Message, *, now: dt.datetime) -> None:
    same = Message.objects.filter(pk=message.pk, state=message.state, lease_token=message.lease_token)
    if not same.update(state=Message.State.PARKED, lease_token=None, lease_until=None, begun_at=None):
        return
    were_not_asked([message.pk])
    for plan, line in lines_of(message):
        list_for_a_call(gap, plan, [f"{line}{PERHAPS}"], now=now)


def _leave_notice(gap: Gap, notice: Notice, *, now: dt.datetime) -> None:
    if Notice.objects.filter(pk=notice.pk, done_at=None).update(done_at=now):
        log(notice.plan, "notice_left", f"{notice.get_kind_display()}: it may have gone out already", now=now)
        list_for_a_call(gap, notice.plan, [f"“{notice.get_kind_display()}”{PERHAPS}"], now=now)


def _ask_what_was_lost(gap: Gap, *, now: dt.datetime) -> None:
    """One call for each running patient, for its answers; one task for each practice, for patients that are lost."""
    known = Plan.objects.running().filter(enrolled_at__lte=gap.ended_at)
    without = known.exclude(tasks__key__startswith=f"gap:{gap.pk}:").select_related("practice", "patient__owner")
    one_by_one(without, lambda plan: list_for_a_call(gap, plan, [], now=now), lambda plan: [plan], now=now)
    for practice in Practice.objects.exclude(tasks__key=_key(gap)):
        began, ended = (f"{each.astimezone(practice.zone):%a %d %b %H:%M}" for each in (gap.began_at, gap.ended_at))
        Task.objects.get_or_create(
            practice=practice,
            key=_key(gap),
            defaults={
                "kind": Task.Kind.LOOK,
                "text": (
                    f"A backup was put back: what was entered between {began} and {ended} is lost, and so are patients "
                    "who were enrolled then. Look through the papers of those hours, and enrol them again."
                ),
                "due_at": now,
                "made_at": now,
            },
        )


def _key(gap: Gap) -> str:
    return f"gap:{gap.pk}"
