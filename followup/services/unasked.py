"""What a message was to ask and did not: nothing stays asked unsent, and no silence is held against anybody.

A message that has gone, or still will, by another way or to another person, asks it all the same.
"""

from __future__ import annotations

from collections.abc import Collection

from followup.models import CheckIn, Dose, Message, Plan

STILL_ASKS = (Message.State.SENT, Message.State.READY, Message.State.LEASED)


def ask_again(messages: Collection[int], *, but: Plan | None = None) -> None:
    """Put back what these messages (their ids; called off) asked: whatever falls due next asks it anew.

    Nothing of `but`, nor of a patient that stays in, has died or has ended its follow-up. Inside a transaction.
    """
    asked_elsewhere = Message.objects.to_owners().filter(state__in=STILL_ASKS)
    running = {"messages__in": messages, "plan__state": Plan.State.RUNNING, "plan__paused": ""}
    check_ins = CheckIn.objects.filter(**running, state=CheckIn.State.ASKED).exclude(messages__in=asked_elsewhere)
    doses = Dose.objects.filter(**running, state=Dose.State.PLANNED).exclude(messages__in=asked_elsewhere)
    if but is not None:
        check_ins, doses = check_ins.exclude(plan=but), doses.exclude(plan=but)
    check_ins.update(state=CheckIn.State.PLANNED, asked_at=None, remind_at=None)
    doses.update(reminded_at=None)


def were_not_asked(messages: Collection[int]) -> None:
    """The silence after these messages (their ids; they will not go out) has a reason that is not the owner's."""
    asked = CheckIn.objects.filter(messages__in=messages, state=CheckIn.State.ASKED)
    asked.exclude(messages__state__in=STILL_ASKS).update(could_not_be_asked=True)
