"""An animal has died: everything about it ends in one step, from any door, and a vet is asked to ring.

Source: clinical defaults, 4, "Died". No survey, nothing automatic that speaks.
"""

from __future__ import annotations

import datetime as dt

from django.db import transaction

from clinic.models import Patient, Staff
from followup.domain.terms import Outcome
from followup.models import CheckIn, Dose, Flag, Message, Plan, Task
from followup.services.log import log
from followup.services.outbox import drop_plan_messages


@transaction.atomic
def record_death(patient: Patient, *, said_by: str, now: dt.datetime, staff: Staff | None = None) -> bool:
    """End every follow-up of this patient. False: it was known already, and nothing changed."""
    if not Patient.objects.filter(pk=patient.pk, died_at__isnull=True).update(died_at=now):
        return False
    for plan in Plan.objects.filter(patient=patient):
        _end(plan, now=now, staff=staff)
    _ask_a_vet_to_ring(patient, said_by, now=now)
    patient.refresh_from_db()
    return True


def _end(plan: Plan, *, now: dt.datetime, staff: Staff | None) -> None:
    """Whatever would still be sent, asked, given or looked at for this plan, is not."""
    drop_plan_messages(plan, now=now)
    alerts = plan.messages.filter(state=Message.State.READY, audience=Message.Audience.STAFF)
    alerts.update(state=Message.State.CANCELLED)
    plan.check_ins.filter(state__in=[CheckIn.State.PLANNED, CheckIn.State.ASKED]).update(
        state=CheckIn.State.CANCELLED, remind_at=None
    )
    plan.doses.filter(state=Dose.State.PLANNED).update(state=Dose.State.CANCELLED)
    plan.wound_reviews.filter(done_at__isnull=True).update(cancelled=True)
    plan.notices.filter(done_at__isnull=True).update(done_at=now)
    plan.flags.open().update(state=Flag.State.ENDED, next_alert_at=None, updated_at=now)
    plan.tasks.open().update(done_at=now, result="The patient has died.")
    _close(plan, now=now, staff=staff)


def _close(plan: Plan, *, now: dt.datetime, staff: Staff | None) -> None:
    ended = {"outcome": Outcome.DIED, "closed_at": now, "closed_by": staff, "paused": Plan.Pause.DIED}
    closed = Plan.objects.all().move(
        plan.pk, old=Plan.State.RUNNING, new=Plan.State.CLOSED, look_again_at=None, **ended
    )
    never_began = Plan.objects.all().move(
        plan.pk, old=Plan.State.WAITING_FOR_VET, new=Plan.State.TAKEN_BACK, look_again_at=None, **ended
    )
    when = "everything about this patient has ended" if closed or never_began else "after the follow-up had ended"
    log(plan, "died", when, now=now, staff=staff)


def _ask_a_vet_to_ring(patient: Patient, said_by: str, *, now: dt.datetime) -> None:
    Task.objects.get_or_create(
        practice_id=patient.practice_id,
        key=f"died:{patient.pk}",
        defaults={
            "plan": Plan.objects.filter(patient=patient).order_by("-enrolled_at").first(),
            "kind": Task.Kind.PHONE,
            "text": f"{patient} has died ({said_by}). A vet rings {patient.owner} today.",
            "due_at": now,
            "made_at": now,
        },
    )
