"""Two questions at the end of a follow-up, for who likes to answer: was it clear, and what could be better?"""

from __future__ import annotations

import datetime as dt

from django.db import transaction
from django.utils.translation import gettext_noop

from followup.domain.terms import Outcome
from followup.models import Plan, Recipient, Reply, Task
from followup.services.log import log
from followup.services.owner_page import ENDED_SHOWN, plans_of
from followup.services.reply import Incoming, keep
from followup.services.understanding import make_task

CLEAR = {
    "yes": gettext_noop("Yes, always"),
    "mostly": gettext_noop("Mostly"),
    "no": gettext_noop("No"),
}
"""Whether it was always clear what to do."""


def asked_at_parting(recipient: Recipient, *, now: dt.datetime) -> list[Plan]:
    """Follow-ups of this person that ended lately, of an animal that lives, and were not spoken about yet."""
    ended = plans_of(recipient).filter(state=Plan.State.CLOSED, closed_at__gt=now - ENDED_SHOWN)
    plans = list(ended.exclude(outcome=Outcome.DIED.value).filter(patient__died_at__isnull=True).order_by("closed_at"))
    ids = {_id(plan, recipient): plan for plan in plans}
    known = Reply.objects.filter(practice=recipient.practice, client_id__in=ids).values_list("client_id", flat=True)
    return [plan for each, plan in ids.items() if each not in set(known)]


@transaction.atomic
def take_parting(plan: Plan, recipient: Recipient, *, clear: str, words: str, now: dt.datetime) -> None:
    """Keep it once. Words are read by a person."""
    incoming = Incoming(_id(plan, recipient), {"parting": {"clear": clear}}, words)
    reply, new = keep(plan.practice, plan, incoming, author=recipient, now=now)
    if not new:
        return
    reply.state = Reply.State.FOR_A_PERSON if words else Reply.State.UNDERSTOOD
    reply.save(update_fields=["state"])
    log(plan, "parting", f"was it clear: {clear or 'not said'}", now=now, clear=clear)
    if words:
        text = f"Read what was written at the end of the follow-up of {plan.patient}."
        make_task(reply, Task.Kind.READ_WORDS, text, now=now)


def _id(plan: Plan, recipient: Recipient) -> str:
    """One for each follow-up and person; a follow-up that was opened again is asked about anew."""
    ended = f"{plan.closed_at:%Y%m%d%H%M}" if plan.closed_at is not None else "open"
    return f"parting-{plan.pk}-{recipient.pk}-{ended}"
