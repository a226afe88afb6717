"""On waking after an emergency that nobody here could see: "did you reach a vet?". Source: clinical defaults, 13."""

from __future__ import annotations

import datetime as dt

from django.db import transaction

from followup.domain.terms import Level
from followup.models import Flag, Notice, Plan, Recipient, Reply, Task
from followup.services.advice import Advice, advice_for
from followup.services.log import log
from followup.services.notices import THE_MORNING
from followup.services.owner_page import plans_of
from followup.services.reply import Incoming, keep
from followup.services.understanding import understand

ASKED = ". Asked on waking: "


def asked_on_waking(plan: int, recipient: Recipient, *, now: dt.datetime) -> Notice | None:
    """The question about one follow-up of this person; None before his waking, and once the morning is over."""
    found = Notice.objects.whether_reached(now).filter(
        plan__in=plans_of(recipient), plan=plan, at__gt=now - THE_MORNING
    )
    return found.select_related("plan__patient__owner", "plan__practice", "plan__protocol").first()


def take_reached(
    notice: Notice, answer: Notice.Reached, incoming: Incoming, *, author: Recipient, now: dt.datetime
) -> Reply:
    """Keep the answer, and write it where the emergency stands. "Not yet" alerts people again, and is a call to make.

    "Yes" ends nothing: a person here has still not heard what the vet found. Words are read like any. Counts once.
    """
    plan = notice.plan
    reply, new = keep(plan.practice, plan, incoming, author=author, now=now)
    if not new:
        return reply
    _write_down(notice, answer, reply, now=now)
    return understand(reply, now=now).reply


@transaction.atomic
def _write_down(notice: Notice, answer: Notice.Reached, reply: Reply, *, now: dt.datetime) -> None:
    plan = notice.plan
    Notice.objects.filter(pk=notice.pk).update(answer=answer)
    log(plan, "reached_vet", answer.label, now=now, answer=answer.value, reply=reply.pk)
    for flag in plan.flags.open().filter(worst=Level.EMERGENCY):
        because = f"{flag.because.split(ASKED)[0]}{ASKED}{answer.label}"
        Flag.objects.filter(pk=flag.pk).update(because=because)
    if answer == Notice.Reached.NOT_YET:
        waiting = plan.flags.open().filter(worst=Level.EMERGENCY, acknowledged_at=None, outcome="")
        waiting.update(next_alert_at=now)
        _ask_a_person(reply, plan, now=now)


def advice_now(plan: Plan, *, now: dt.datetime) -> Advice:
    """What somebody who has reached no vet yet is told."""
    return advice_for(plan, Level.EMERGENCY, now=now)


def _ask_a_person(reply: Reply, plan: Plan, *, now: dt.datetime) -> None:
    Task.objects.get_or_create(
        practice_id=plan.practice_id,
        key=f"reply:{reply.pk}:{Task.Kind.PHONE}",
        defaults={
            "plan": plan,
            "kind": Task.Kind.PHONE,
            "text": f"No vet was reached for {plan.patient} in the night: ring {plan.patient.owner} now.",
            "due_at": now,
            "made_at": now,
        },
    )
