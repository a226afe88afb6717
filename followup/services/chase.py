"""What falls due with time: questions, doses, reminders, and plans whose level may have risen.

Safe to run twice, and twice at once: each step of a check-in is one conditional update, each message has its key.
"""

from __future__ import annotations

import datetime as dt

from followup.domain.wording import REMINDER
from followup.models import CheckIn, Message, Plan, Recipient, Verdict
from followup.services.ask import MOST_AT_ONCE, WHOLE, ask_what_is_due, reminders_of
from followup.services.assess import assess
from followup.services.one_by_one import one_by_one
from followup.services.outbox import queue_to_owner
from followup.services.people import first_recipients, second_recipients
from followup.services.texts import fill, words_of


def chase(*, now: dt.datetime) -> None:
    """Look at what time alone has changed, then ask what is due, then remind of what was not answered."""
    one_by_one(
        Plan.objects.to_look_at(now)[:MOST_AT_ONCE],
        lambda plan: assess(plan, now=now, cause=Verdict.Cause.TIME),
        lambda plan: [plan],
        now=now,
    )
    ask_what_is_due(now=now)
    one_by_one(
        CheckIn.objects.to_remind(now).select_related(*WHOLE)[:MOST_AT_ONCE],
        lambda check_in: _remind(check_in, now=now),
        lambda check_in: [check_in.plan],
        now=now,
    )


def _remind(check_in: CheckIn, *, now: dt.datetime) -> None:
    """The first reminder by the other way to the same people; a second one to those behind them."""
    to_come = reminders_of(check_in, asked_at=check_in.asked_at or check_in.at)
    number = check_in.reminders + 1
    following = to_come[number] if number < len(to_come) else None
    waiting = CheckIn.objects.filter(pk=check_in.pk, state=CheckIn.State.ASKED, reminders=check_in.reminders)
    if not waiting.update(reminders=number, remind_at=following) or check_in.answer_by <= now:
        return
    plan = check_in.plan
    people = first_recipients(plan, now=now) if number == 1 else second_recipients(plan, now=now)
    for recipient in people:
        queue_to_owner(
            plan,
            recipient,
            purpose=Message.Purpose.REMINDER,
            key=f"remind:{check_in.pk}:{number}:{recipient.pk}",
            text=fill(REMINDER, language=recipient.person.language, **words_of([plan])),
            now=now,
            expires_at=check_in.answer_by,
            check_ins=[check_in],
            medium=_second_medium(recipient) if number == 1 else None,
        )


def _second_medium(recipient: Recipient) -> Message.Medium | None:
    """The other way to reach the person, where there is one: a reminder goes by the second channel."""
    both = bool(recipient.person.email) and bool(recipient.person.mobile)
    return Message.Medium.SMS if both else None
