"""May an owner be written to now? Nothing while a restored backup waits for a person; slowly after a gap.

Alerts to staff are never held and never slowed. The pace is `followup/domain/catching_up.py`.
"""

from __future__ import annotations

import datetime as dt

from django.db.models import F
from django.db.models.functions import Greatest

from followup.domain.catching_up import BETWEEN_TWO, allowed, at_once, left
from followup.models import Gap, Message
from followup.models.message import MessageQuerySet
from followup.services.sending_outcome import put_back

EXEMPT = (Message.Purpose.ADVICE, Message.Purpose.WELCOME)
"""What to do now, and what somebody at the desk waits for, keep nobody waiting."""
WHILE_HELD = dt.timedelta(seconds=30)
NEXT_PLACE = dt.timedelta(seconds=1)
ANOTHER_GOES = dt.timedelta(seconds=30)
SECOND = dt.timedelta(seconds=1)


def open_gap() -> Gap | None:
    """The gap that owners are held or slowed for; None: nothing is wrong. One query."""
    return Gap.objects.unfinished().first()


def budget(now: dt.datetime) -> int | None:
    """How many messages may go to owners now; None: any number."""
    gap = open_gap()
    return None if gap is None else _left(gap, now)


def claimable(rows: MessageQuerySet, gap: Gap | None, *, now: dt.datetime) -> MessageQuerySet:
    """Of owners' messages those that a worker may take at all. `gap`: from `open_gap`; read anew if there is one."""
    if gap is None:
        return rows
    gap.refresh_from_db()
    if gap.holds:
        return rows.none()
    return rows if gap.caught_up_at is not None or _left(gap, now) else rows.filter(purpose__in=EXEMPT)


def may_go(message: Message, *, now: dt.datetime) -> bool:
    """The last question before a leased message goes to an owner: whoever has to wait is put back, with its time."""
    gap = open_gap() if message.audience == Message.Audience.OWNER else None
    until = _waits_until(gap, message, now) if gap is not None else None
    if until is None:
        return True
    put_back(message, until=until)
    return False


def _waits_until(gap: Gap, message: Message, now: dt.datetime) -> dt.datetime | None:
    """None: it goes now, and its place in the pace is taken."""
    if gap.holds:
        return now + WHILE_HELD
    exempt = message.purpose in EXEMPT
    turn = None if exempt else _turn(message, now)
    if turn is None and not _take_a_place(gap, now, always=exempt):
        return now + NEXT_PLACE
    return turn


def _left(gap: Gap, now: dt.datetime) -> int:
    return 0 if gap.holds else left(now - gap.starts_again, gap.paced)


def _turn(message: Message, now: dt.datetime) -> dt.datetime | None:
    """When its reader may be written to again; None: now.

    Of two that are on their way to one person at once, by two ways, each waits, and each for another time.
    """
    others = Message.objects.to_owners().filter(recipient=message.recipient).exclude(purpose__in=EXEMPT)
    went = others.filter(state=Message.State.SENT, sent_at__gt=now - BETWEEN_TWO).order_by("-sent_at")
    last = went.values_list("sent_at", flat=True).first()
    if last is not None:
        return last + BETWEEN_TWO
    going = others.filter(state=Message.State.LEASED).exclude(pk=message.pk)
    return now + ANOTHER_GOES + message.pk % 30 * SECOND if going.exists() else None


def _take_a_place(gap: Gap, now: dt.datetime, *, always: bool) -> bool:
    """Take one place of the pace; False when none is left. One conditional update, so no place is taken twice."""
    since = now - gap.starts_again
    row = Gap.objects.filter(pk=gap.pk)
    free = row if always else row.filter(paced__lt=allowed(since))
    over = max(allowed(since) - at_once(since), 0)
    return free.update(paced=Greatest(F("paced"), over) + 1, sent=F("sent") + 1) == 1
