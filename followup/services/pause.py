"""The switch that stops every message of a practice to owners, and lets them go again. Alerts to staff go on.

Nothing is thrown away: what is due waits, and is a call when it becomes too late. Emergency advice does not wait
unseen: it is a call at once.
"""

from __future__ import annotations

import datetime as dt

from django.db import transaction
from django.db.models import CharField, Exists, OuterRef, Value
from django.db.models.functions import Cast, Concat

from clinic.models import Practice, Role, Staff
from followup.domain.terms import FollowUpError, Level
from followup.models import Message, Task
from followup.services.clock_guard import expiry_waits
from followup.services.log import log
from followup.services.outbox import ADVICE_PRIORITY
from followup.services.sending_outcome import hand_to_a_person
from followup.services.unasked import were_not_asked
from followup.services.who_may import only

WHILE_PAUSED = "messages were paused"
CALL = "undelivered:"
"""How the key of the call begins that takes the place of a message."""
MAY = (Role.VET, Role.ADMINISTRATOR)
LONGEST_WHY = 300
MOST_AT_ONCE = 200


@transaction.atomic
def pause(practice: Practice, *, staff: Staff, reason: str, now: dt.datetime) -> bool:
    """Stop all messages to owners. False: they were stopped already, and nothing changed."""
    only(staff, practice.pk, *MAY, step="Pausing messages")
    why = " ".join(reason.split())
    if not why:
        raise FollowUpError("Write why: whoever comes next must know.", field="why")
    if len(why) > LONGEST_WHY:
        raise FollowUpError(f"Write it in {LONGEST_WHY} characters; these are {len(why)}.", field="why")
    sending = Practice.objects.filter(pk=practice.pk, messages_paused=False)
    if not sending.update(messages_paused=True, paused_at=now, paused_by=staff, paused_why=why):
        return False
    practice.refresh_from_db()
    log(practice, "messages_paused", why, now=now, staff=staff)
    phone_instead_of_advice(now=now)
    return True


@transaction.atomic
def resume(practice: Practice, *, staff: Staff, now: dt.datetime) -> bool:
    """Let messages go again; of what had piled up, each owner gets the newest. False: they were not stopped."""
    only(staff, practice.pk, *MAY, step="Letting messages go again")
    paused = Practice.objects.filter(pk=practice.pk, messages_paused=True)
    if not paused.update(messages_paused=False, paused_at=None, paused_by=None, paused_why=""):
        return False
    left = leave_what_was_overtaken(practice, now=now)
    practice.refresh_from_db()
    log(practice, "messages_resumed", f"{left} overtaken messages are not sent", now=now, staff=staff)
    return True


def leave_what_was_overtaken(practice: Practice, *, now: dt.datetime) -> int:
    """Of the questions that wait for one person about one plan only the newest is sent; returns how many are not.

    A message that names a dose stays while that dose may be given: its expiry ends it.
    """
    asks = [Message.Purpose.CHECK_IN, Message.Purpose.REMINDER]  # a reminder of what was never sent comes second
    waiting = Message.objects.due(now).to_owners().filter(practice=practice, purpose__in=asks, doses=None)
    newest: set[tuple[int | None, int | None]] = set()
    overtaken = []
    for pk, recipient, plan in waiting.order_by("purpose", "-due_at", "-pk").values_list("pk", "recipient", "plan"):
        if (recipient, plan) in newest:
            overtaken.append(pk)
        newest.add((recipient, plan))
    Message.objects.filter(pk__in=overtaken, state=Message.State.READY).update(state=Message.State.SUPERSEDED)
    were_not_asked(overtaken)
    return len(overtaken)


def phone_instead_of_advice(*, now: dt.datetime) -> int:
    """Advice that a paused practice keeps back is a call, once, from the moment at which it would have gone."""
    kept_back = Message.objects.to_owners().filter(
        state=Message.State.READY,
        priority=ADVICE_PRIORITY,
        purpose=Message.Purpose.ADVICE,
        practice__messages_paused=True,
    )
    key = Concat(Value(CALL), Cast(OuterRef("pk"), CharField()))
    called = Task.objects.filter(practice=OuterRef("practice"), key=key)
    unseen = kept_back.exclude(Exists(called)).select_related("plan", "recipient__person", "flag")[:MOST_AT_ONCE]
    return sum(_ask_to_phone(message, now=now) for message in unseen)


def _ask_to_phone(message: Message, *, now: dt.datetime) -> bool:
    """The task that the message would become anyway when it is too late, made at once."""
    person = message.recipient.person if message.recipient is not None else "the owner"
    worst = message.flag.level if message.flag is not None else Level.URGENT
    what = "emergency advice" if worst == Level.EMERGENCY else "advice"
    _, made = Task.objects.get_or_create(
        practice_id=message.practice_id,
        key=f"{CALL}{message.pk}",
        defaults={
            "plan": message.plan,
            "kind": Task.Kind.PHONE,
            "text": f"Phone {person}: {what} could not be sent, messages are paused",
            "due_at": max(message.not_before, now),
            "made_at": now,
        },
    )
    return made


def give_up_while_paused(*, now: dt.datetime) -> int:
    """What became too late while its practice was paused says so, on the page Sending and in its call."""
    late = Message.objects.run_out(now).to_owners().filter(practice__messages_paused=True)
    rows = late.select_related("plan", "recipient__person")[:MOST_AT_ONCE]
    return sum(_give_up(message, now=now) for message in rows) if rows and not expiry_waits(now) else 0


@transaction.atomic
def _give_up(message: Message, *, now: dt.datetime) -> bool:
    ready = Message.objects.filter(pk=message.pk, state=Message.State.READY)
    if not ready.update(state=Message.State.EXPIRED, last_error=WHILE_PAUSED):
        return False
    hand_to_a_person(message, f"was not sent in time: {WHILE_PAUSED}", now=now)
    return True
