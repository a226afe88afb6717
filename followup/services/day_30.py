"""How it turned out, thirty days on: one tap, which never opens a question more."""

from __future__ import annotations

import datetime as dt

from django.db import transaction

from followup.models import Notice, Plan, Recipient, Reply, Task
from followup.services.log import log
from followup.services.owner_page import plans_of
from followup.services.reply import Incoming, keep


def asked_on_day_30(plan: int, recipient: Recipient, *, now: dt.datetime) -> Notice | None:
    """The question about one follow-up of this person, ended or not; None before its day and after a death."""
    found = Notice.objects.how_it_turned_out(now).filter(plan__in=plans_of(recipient), plan=plan)
    return found.select_related("plan__patient", "plan__practice").first()


@transaction.atomic
def take_day_30(
    notice: Notice, answer: Notice.Answer, incoming: Incoming, *, author: Recipient, now: dt.datetime
) -> Reply:
    """Keep the answer. Not well, or words beside it: a person reads and rings. The same id counts once."""
    plan = notice.plan
    reply, new = keep(plan.practice, plan, incoming, author=author, now=now)
    if not new:
        return reply
    Notice.objects.filter(pk=notice.pk).update(answer=answer)
    log(plan, "day_30", answer.label, now=now, answer=answer.value)
    state = Reply.State.UNDERSTOOD
    if answer == Notice.Answer.NOT_WELL:
        state = Reply.State.FOR_A_PERSON
        _ask_a_person(reply, plan, Task.Kind.PHONE, "30 days on, something is or was wrong with {}: ring.", now=now)
    elif incoming.text.strip():
        _ask_a_person(reply, plan, Task.Kind.READ_WORDS, "Read what was written about {} 30 days on.", now=now)
    reply.state = state
    reply.save(update_fields=["state"])
    return reply


def _ask_a_person(reply: Reply, plan: Plan, kind: Task.Kind, text: str, *, now: dt.datetime) -> None:
    Task.objects.get_or_create(
        practice_id=plan.practice_id,
        key=f"reply:{reply.pk}:{kind}",
        defaults={"plan": plan, "kind": kind, "text": text.format(plan.patient), "due_at": now, "made_at": now},
    )
