"""The patient is in a clinic: nothing is sent to the owner, and his silence says nothing, until it comes home."""

from __future__ import annotations

import datetime as dt

from django.db import transaction

from clinic.models import Role, Staff
from followup.domain.terms import FollowUpError, Level
from followup.models import CheckIn, Flag, Message, Plan, Task
from followup.services.log import log
from followup.services.outbox import drop_plan_messages
from followup.services.who_may import only

ASK_AFTER = dt.timedelta(hours=24)
"""So long after the admission a task asks whether it has gone home: nobody is forgotten in a kennel (D)."""


class AlreadyAdmitted(FollowUpError):
    """It is in a clinic already, or its follow-up does not run."""


@transaction.atomic
def admit(plan: Plan, *, staff: Staff, why: str, now: dt.datetime) -> Plan:
    """From now on the clinic looks after it. Anybody of the practice may say so. Raises AlreadyAdmitted."""
    only(staff, plan.practice_id, Role.FRONT_DESK, Role.NURSE, Role.VET, step="Admitting a patient")
    if not why.strip():
        raise FollowUpError("Write why it is in a clinic, and in which.", field="why")
    running = Plan.objects.running().filter(pk=plan.pk).exclude(paused=Plan.Pause.IN_HOSPITAL)
    if not running.update(paused=Plan.Pause.IN_HOSPITAL, admitted_at=now, look_again_at=None):
        raise AlreadyAdmitted(
            f"{plan.patient} is in a clinic already, or its follow-up has ended. Nothing was changed."
        )
    drop_plan_messages(plan, now=now)
    plan.check_ins.filter(state=CheckIn.State.ASKED).update(state=CheckIn.State.CANCELLED, remind_at=None)
    plan.tasks.open().filter(kind=Task.Kind.PHONE).update(
        done_at=now, done_by=staff, result="Not needed: the patient is in a clinic."
    )
    _hand_over_alerts(plan, staff=staff, why=why, now=now)
    Task.objects.get_or_create(
        practice_id=plan.practice_id,
        key=f"admitted:{plan.pk}:{now:%Y%m%d%H%M%S}",
        defaults={
            "plan": plan,
            "kind": Task.Kind.LOOK,
            "text": f"{plan.patient} is in a clinic ({why.strip()}). Write the new plan when it goes home.",
            "due_at": now + ASK_AFTER,
            "made_at": now,
        },
    )
    log(plan, "admitted", f"in a clinic: {why.strip()}", now=now, staff=staff)
    plan.refresh_from_db()
    return plan


def _hand_over_alerts(plan: Plan, *, staff: Staff, why: str, now: dt.datetime) -> None:
    """An emergency that is in a clinic is in hands: nobody is alerted any more, and a person still reviews it."""
    emergencies = plan.flags.open().filter(level=Level.EMERGENCY)
    emergencies.filter(acknowledged_at=None).update(acknowledged_by=staff, acknowledged_at=now)
    emergencies.filter(outcome="").update(outcome=Flag.Outcome.SENT_TO, outcome_note=why.strip(), outcome_at=now)
    plan.flags.open().update(next_alert_at=None)
    alerts = plan.messages.filter(state=Message.State.READY, audience=Message.Audience.STAFF)
    alerts.update(state=Message.State.CANCELLED)
