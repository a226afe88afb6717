"""What falls due with time: questions, doses, reminders, and plans whose level may have risen.

Safe to run twice, and twice at once: each step of a check-in is one conditional update, each message has its key.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field

from followup.domain.wording import REMINDER, REMINDER_OF_SEVERAL
from followup.models import CheckIn, Message, Plan, Recipient, Verdict
from followup.services.ask import MOST_AT_ONCE, WHOLE, ask_what_is_due, reminders_of, short
from followup.services.assess import assess
from followup.services.one_by_one import one_by_one
from followup.services.outbox import queue_to_owner
from followup.services.people import first_recipients, second_recipients
from followup.services.second_carer import write_to_second_carers
from followup.services.texts import fill, words_of


def chase(*, now: dt.datetime) -> None:
    """Look at what time alone has changed, ask what is due, remind of what was not answered, and then ask others."""
    one_by_one(
        Plan.objects.to_look_at(now)[:MOST_AT_ONCE],
        lambda plan: assess(plan, now=now, cause=Verdict.Cause.TIME),
        lambda plan: [plan],
        now=now,
    )
    ask_what_is_due(now=now)
    remind_of_what_was_not_answered(now=now)
    write_to_second_carers(now=now)


@dataclass
class Reminding:
    """What the same people are reminded of at once. `number`: the first reminder or the second of each check-in."""

    recipients: Sequence[Recipient]
    number: int
    check_ins: list[CheckIn] = field(default_factory=list)

    def plans(self) -> list[Plan]:
        """The plans that it is about, each once."""
        return list({row.plan_id: row.plan for row in self.check_ins}.values())


def remind_of_what_was_not_answered(*, now: dt.datetime) -> None:
    """One message for each person, whatever has not been answered for however many of his patients."""
    remindings: dict[tuple[int, ...], Reminding] = {}
    one_by_one(
        CheckIn.objects.to_remind(now).select_related(*WHOLE)[:MOST_AT_ONCE],
        lambda check_in: _sort_in(check_in, remindings, now=now),
        lambda check_in: [check_in.plan],
        now=now,
    )
    one_by_one(remindings.values(), lambda reminding: _remind(reminding, now=now), Reminding.plans, now=now)


def _sort_in(check_in: CheckIn, remindings: dict[tuple[int, ...], Reminding], *, now: dt.datetime) -> None:
    """The first reminder goes by the other way to the same people; a second one to those behind them."""
    number = check_in.reminders + 1
    plan = check_in.plan
    people = first_recipients(plan, now=now) if number == 1 else second_recipients(plan, now=now)
    key = (number, *sorted(each.pk for each in people))
    remindings.setdefault(key, Reminding(people, number)).check_ins.append(check_in)


def _remind(reminding: Reminding, *, now: dt.datetime) -> None:
    check_ins = [each for each in reminding.check_ins if _taken(each, now=now)]
    plans = Reminding(reminding.recipients, reminding.number, check_ins).plans()
    if not plans:
        return
    rows = "-".join(str(each.pk) for each in check_ins)
    several = len({plan.patient.name for plan in plans}) > 1
    for recipient in reminding.recipients:
        queue_to_owner(
            plans[0],
            recipient,
            purpose=Message.Purpose.REMINDER,
            key=f"remind:{short(rows)}:{reminding.number}:{recipient.pk}",
            text=fill(
                REMINDER_OF_SEVERAL if several else REMINDER,
                of=plans[0].practice,
                language=recipient.person.language,
                **words_of(plans),
            ),
            now=now,
            expires_at=max(each.answer_by for each in check_ins),
            check_ins=check_ins,
            medium=_second_medium(recipient) if reminding.number == 1 else None,
        )


def _taken(check_in: CheckIn, *, now: dt.datetime) -> bool:
    """Whether it is this worker that reminds, and there is still time to answer."""
    to_come = reminders_of(check_in, asked_at=check_in.asked_at or check_in.at)
    number = check_in.reminders + 1
    following = to_come[number] if number < len(to_come) else None
    waiting = CheckIn.objects.filter(pk=check_in.pk, state=CheckIn.State.ASKED, reminders=check_in.reminders)
    return bool(waiting.update(reminders=number, remind_at=following)) and check_in.answer_by > now


def _second_medium(recipient: Recipient) -> Message.Medium | None:
    """The other way to reach the person, where there is one: a reminder goes by the second channel."""
    both = bool(recipient.person.email) and bool(recipient.person.mobile)
    return Message.Medium.SMS if both else None
