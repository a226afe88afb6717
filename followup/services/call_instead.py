"""A call in place of a message: to whom there is no address for, and who asked for no messages.

After a stop not everything is worth ringing about: check-ins, advice, what changed and a held medicine are; a dose's
reminder, a goodbye and one tap on day 30 fall away, and so does a reminder of what is a call already.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Q

from followup.domain.terms import Level
from followup.models import CheckIn, Dose, Flag, Message, Plan, Recipient, Task

ASKED_FOR_NONE = "they asked for no messages"


@dataclass(frozen=True)
class Unsent:
    """What is not sent."""

    purpose: str
    key: str
    subject: str
    check_ins: Sequence[CheckIn] = ()
    doses: Sequence[Dose] = ()
    flag: Flag | None = None

    @classmethod
    def of(cls, message: Message) -> Unsent:
        """What a message would have said."""
        check_ins, doses = tuple(message.check_ins.all()), tuple(message.doses.all())
        return cls(message.purpose, message.key, message.subject, check_ins, doses, message.flag)


def call_instead(plan: Plan, recipient: Recipient, unsent: Unsent, *, now: dt.datetime) -> Task | None:
    """The call, once for each key; None when there is one already, or when it is nothing to ring about."""
    if not _is_a_call(recipient, unsent):
        return None
    if unsent.flag is not None and recipient.stopped_at is not None:
        return call_about(unsent.flag, recipient, now=now)
    stopped = f" ({ASKED_FOR_NONE})" if recipient.stopped_at is not None else ""
    return _task(plan, f"phone:{unsent.key}", f"Phone {recipient.person}: {unsent.subject}{stopped}", now=now)


def call_about(flag: Flag, recipient: Recipient, *, now: dt.datetime) -> Task | None:
    """A red sign of somebody who gets no messages. While such a call is open, the same sign makes no second one."""
    level = Level(max(flag.level, Level.URGENT))
    about = f"phone:flag:{flag.pk}:{recipient.pk}:{level.word}:"
    if Task.objects.open().filter(practice_id=flag.practice_id, key__startswith=about).exists():
        return None
    word = "EMERGENCY" if level is Level.EMERGENCY else level.word
    text = f"Phone {recipient.person}: {word}, {flag.plan.patient}: {flag.because}: {ASKED_FOR_NONE}"
    return _task(flag.plan, f"{about}{flag.count}", text, now=now)


def _is_a_call(recipient: Recipient, unsent: Unsent) -> bool:
    if unsent.purpose == Message.Purpose.REMINDER:
        return _was_asked_by_message(recipient, unsent.check_ins)
    if recipient.stopped_at is None:
        return True
    if unsent.purpose == Message.Purpose.DOSE:
        return any(dose.held for dose in unsent.doses)
    return unsent.purpose != Message.Purpose.GOODBYE


def _was_asked_by_message(recipient: Recipient, check_ins: Sequence[CheckIn]) -> bool:
    """Whether any of these reached the person by message; one that did not is a call of its own already."""
    reached = Q(recipient=recipient, state=Message.State.SENT, purpose=Message.Purpose.CHECK_IN)
    return Message.objects.filter(reached, check_ins__in=list(check_ins)).exists()


def _task(plan: Plan, key: str, text: str, *, now: dt.datetime) -> Task | None:
    task, made = Task.objects.get_or_create(
        practice_id=plan.practice_id,
        key=key,
        defaults={"plan": plan, "kind": Task.Kind.PHONE, "text": text, "due_at": now, "made_at": now},
    )
    return task if made else None
