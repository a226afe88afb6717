"""What did not go out because of a gap: one call for each patient that lists it, and not one for each message."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator

from django.db import transaction
from django.db.models import Value
from django.db.models.functions import Concat

from followup.models import CheckIn, Dose, Gap, Message, Plan, Task
from followup.services.people import first_recipients
from followup.services.sending_outcome import hand_to_a_person
from followup.services.unasked import were_not_asked

BETWEEN = "; "
LISTED = {
    Gap.Kind.STOPPED: "These were not sent: ",
    Gap.Kind.RESTORED: "What was due: ",
}


@transaction.atomic
def give_up(message: Message, *, now: dt.datetime) -> None:
    """A message that was not sent in time is a call; during a gap, and after it, a line in the patient's one call."""
    gap = Gap.objects.unfinished().first()
    if gap is None or message.audience != Message.Audience.OWNER or message.plan is None:
        hand_to_a_person(message, "was not sent in time", now=now)
        return
    were_not_asked([message.pk])
    for plan, line in lines_of(message):
        list_for_a_call(gap, plan, [f"{line}{not_sent(gap)}"], now=now)


@transaction.atomic
def list_for_a_call(gap: Gap, plan: Plan, lines: Iterable[str], *, now: dt.datetime) -> None:
    """Add what is not listed yet to the patient's call because of this gap; make that call where there is none open."""
    calls = list(plan.tasks.filter(key__startswith=_key(gap, plan)))
    listed = {line for call in calls for line in _listed(call.text, gap)}
    new = [line for line in dict.fromkeys(lines) if line not in listed]
    still_open = [call for call in calls if call.done_at is None]
    if (not new and calls) or (still_open and _append(still_open[-1], new, gap)):
        return
    task, made = Task.objects.get_or_create(
        practice_id=plan.practice_id,
        key=f"{_key(gap, plan)}{len(calls) + 1}",
        defaults={
            "plan": plan,
            "kind": Task.Kind.PHONE,
            "text": _text(gap, plan, new, now=now),
            "due_at": now,
            "made_at": now,
        },
    )
    if not made:
        _append(task, new, gap)


def not_sent(gap: Gap) -> str:
    """What is said of one line where the list does not say it of all."""
    return "" if gap.kind == Gap.Kind.STOPPED else " (not sent)"


def line_of(row: CheckIn | Dose) -> str:
    """A question or a dose as the call lists it."""
    if isinstance(row, CheckIn):
        return f"the check-in of {when(row.at, row.plan)}"
    return f"the reminder of {row.drug} {row.amount} at {when(row.at, row.plan)}"


def when(moment: dt.datetime, plan: Plan) -> str:
    """A moment on the practice's clock."""
    return f"{moment.astimezone(plan.practice.zone):%a %d %b %H:%M}"


def lines_of(message: Message) -> Iterator[tuple[Plan, str]]:
    """What a message was about, patient by patient."""
    whole = ("plan__practice", "plan__patient__owner")
    rows: list[CheckIn | Dose] = [
        *message.check_ins.select_related(*whole),
        *message.doses.select_related(*whole),
    ]
    again = "a reminder of " if message.purpose == Message.Purpose.REMINDER else ""
    for row in rows:
        yield row.plan, f"{again}{line_of(row)}"
    if not rows and message.plan is not None:
        yield message.plan, f"“{message.subject}” of {when(message.due_at, message.plan)}"


def _key(gap: Gap, plan: Plan) -> str:
    return f"gap:{gap.pk}:{plan.pk}:"


def _listed(text: str, gap: Gap) -> list[str]:
    return text.partition(LISTED[Gap.Kind(gap.kind)])[2].split(BETWEEN)


def _append(call: Task, new: list[str], gap: Gap) -> bool:
    """Add to a call that nobody has made yet; False when somebody has by now."""
    head = LISTED[Gap.Kind(gap.kind)]
    before = BETWEEN if head in call.text else f" {head}"
    added = Concat("text", Value(before + BETWEEN.join(new)))
    return Task.objects.open().filter(pk=call.pk).update(text=added) == 1


def _text(gap: Gap, plan: Plan, lines: list[str], *, now: dt.datetime) -> str:
    who = " or ".join(str(each.person) for each in first_recipients(plan, now=now))
    span = f"{when(gap.began_at, plan)} and {when(gap.ended_at, plan)}"
    happened = {
        Gap.Kind.STOPPED: f"sending was down between {span}.",
        Gap.Kind.RESTORED: (
            f"what was answered, told or entered between {span} is lost, since a backup was put back. "
            f"Ask how {plan.patient.name} is, and what was given."
        ),
    }[Gap.Kind(gap.kind)]
    listed = f" {LISTED[Gap.Kind(gap.kind)]}{BETWEEN.join(lines)}" if lines else ""
    return f"Phone {who}: {happened}{listed}"
