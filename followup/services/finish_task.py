"""A person has done what only a person can do."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from django.db import transaction

from clinic.models import Staff
from followup.domain.terms import FollowUpError
from followup.models import Plan, Reply, Task, Verdict
from followup.services.assess import assess
from followup.services.log import log
from followup.services.lost import record_failed_call

FROM_A_REPLY = "reply:"
"""How the key of a task begins that was made by a reply; its number follows."""


class AlreadyDone(FollowUpError):
    """Somebody else did this task first."""


@dataclass(frozen=True)
class CameOfIt:
    """What came of a task. `lives`: the words did not say that the animal died, so everything goes on.

    `no_answer`: the owner was rung and nobody answered, which counts towards "lost to follow-up".
    """

    result: str
    lives: bool = False
    no_answer: bool = False


@transaction.atomic
def finish_task(task: Task, came: CameOfIt, *, staff: Staff, now: dt.datetime) -> Task:
    """Close one task with what came of it."""
    no_answer = came.no_answer and task.kind == Task.Kind.PHONE
    result = came.result.strip() or ("Nobody answered the phone." if no_answer else "")
    if not result:
        raise FollowUpError("Write what came of it.", field="result")
    done = Task.objects.open().filter(pk=task.pk).update(done_at=now, done_by=staff, result=result)
    task.refresh_from_db()
    if not done:
        raise AlreadyDone(_who_was_first(task))
    _mark_read(task, staff)
    if no_answer and task.plan is not None and task.plan.state == Plan.State.RUNNING:
        record_failed_call(task.plan, staff=staff, call=f"task:{task.pk}", now=now)
    log(task.plan or task.practice, "task_done", f"{task}: {task.result}", now=now, staff=staff, task=task.pk)
    if task.plan is not None and came.lives:
        _go_on(task.plan, staff=staff, now=now)
    if task.plan is not None and task.kind == Task.Kind.READ_WORDS:
        assess(task.plan, now=now, cause=Verdict.Cause.STAFF)  # words that were read raise nothing by themselves
    return task


def reply_of(task: Task) -> Reply | None:
    """The reply that made this task, if one did."""
    number = task.key.removeprefix(FROM_A_REPLY).split(":")[0]
    if not task.key.startswith(FROM_A_REPLY) or not number.isdigit():
        return None
    return (
        Reply.objects.filter(pk=int(number), practice_id=task.practice_id).select_related("recipient__person").first()
    )


def _mark_read(task: Task, staff: Staff) -> None:
    reply = reply_of(task)
    if reply is not None:
        Reply.objects.filter(pk=reply.pk).exclude(state=Reply.State.STORED).update(
            state=Reply.State.READ, read_by=staff
        )


def _go_on(plan: Plan, *, staff: Staff, now: dt.datetime) -> None:
    """Take back the pause that the owner's words had set, and look at the animal's clocks at once."""
    if not Plan.objects.running().filter(pk=plan.pk, paused=Plan.Pause.WORDS_SAY_DIED).update(paused=""):
        return
    plan.refresh_from_db()
    log(plan, "goes_on", "the words did not say that the patient has died", now=now, staff=staff)
    assess(plan, now=now, cause=Verdict.Cause.STAFF)


def _who_was_first(task: Task) -> str:
    at = task.done_at.astimezone(task.practice.zone) if task.done_at is not None else None
    when = f" at {at:%H:%M}" if at is not None else ""
    return f"{task.done_by or 'The program'} finished this{when}: {task.result}. Nothing was changed."
