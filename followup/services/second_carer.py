"""A second carer is written to when the first is silent at an urgent level: he may be with either of them.

Silent: what made it urgent came by time alone or from staff, the first was told, and nothing was heard since. Who has
just answered himself has the advice on his page, and is not silent. Each second carer is told once a flag and level.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from followup.domain.terms import Concern, Level
from followup.domain.wording import SECOND_CARER
from followup.models import CheckIn, Flag, Message, Plan
from followup.services.advice import advice_for
from followup.services.log import log
from followup.services.one_by_one import one_by_one
from followup.services.outbox import ADVICE_PRIORITY, queue_to_owner
from followup.services.people import first_recipients, second_recipients
from followup.services.tell import ADVICE_LASTS, advice_words
from followup.services.texts import fill

SILENT_FOR = {Level.URGENT: dt.timedelta(minutes=45), Level.EMERGENCY: dt.timedelta(minutes=15)}
"""So long the first has for a word. Ours (D).

Urgent: as on the first evening (clinical defaults, 5). Emergency: when the next person is alerted as well (13). Where
it is the silence itself that is urgent, nothing is waited for.
"""
MOST_AT_ONCE = 200


def expect_a_word(flags: Iterable[Flag], *, now: dt.datetime) -> None:
    """The first carers have been told of these flags now; when they stay silent, the second ones are told."""
    for flag in flags:
        waits = dt.timedelta(0) if flag.concern == Concern.SILENCE else SILENT_FOR[Level(flag.level)]
        Flag.objects.filter(pk=flag.pk).update(second_carer_at=now + waits)


def write_to_second_carers(*, now: dt.datetime) -> None:
    """From the tick: every flag whose first carers have been silent for so long. Safe to run twice, and at once."""
    due = Flag.objects.for_second_carers(now).select_related("plan__practice", "plan__patient__owner")
    one_by_one(due.order_by("second_carer_at", "pk")[:MOST_AT_ONCE], lambda flag: _write(flag, now=now), _plan, now=now)


def _plan(flag: Flag) -> list[Plan]:
    return [flag.plan]


def _write(flag: Flag, *, now: dt.datetime) -> None:
    if not Flag.objects.filter(pk=flag.pk, second_carer_at=flag.second_carer_at).update(second_carer_at=None):
        return
    plan = flag.plan
    recipients = second_recipients(plan, now=now)
    if not recipients or not _still_silent(flag, plan):
        return
    level = Level(flag.level)
    advice = advice_for(plan, level, now=now)
    words = advice_words(plan, advice)
    names = ", ".join(each.person.name for each in first_recipients(plan, now=now))
    asked = list(plan.check_ins.filter(state=CheckIn.State.ASKED))
    for recipient in recipients:
        queue_to_owner(
            plan,
            recipient,
            purpose=Message.Purpose.ADVICE,
            key=f"second:{flag.pk}:{level.word}:{recipient.pk}",
            text=fill(SECOND_CARER, of=plan.practice, language=recipient.person.language, carer=names, **words),
            now=now,
            expires_at=now + ADVICE_LASTS,
            priority=ADVICE_PRIORITY,
            check_ins=asked,
            flag=flag,
        )
    who = ", ".join(each.person.name for each in recipients)
    log(plan, "second_carer", f"no word from {names}: {who} was written to", now=now, flag=flag.pk)


def _still_silent(flag: Flag, plan: Plan) -> bool:
    """Whether it still needs a person, and nothing was heard since the first were told."""
    if plan.state != Plan.State.RUNNING or plan.paused or flag.level < Level.URGENT or flag.outcome in Flag.IN_HANDS:
        return False
    since = flag.owner_told_at or flag.raised_at
    return not plan.replies.filter(received_at__gte=since).exists()
