"""An enrolment was a slip: it is taken back before the owner has heard of it."""

from __future__ import annotations

import datetime as dt

from django.db import transaction

from clinic.models import Staff
from followup.domain.terms import FollowUpError
from followup.models import CheckIn, Dose, Flag, Message, Plan
from followup.services.begin import TAKE_BACK_WITHIN
from followup.services.log import log
from followup.services.outbox import drop_plan_messages


class TooLate(FollowUpError):
    """The owner has been written to, or the two minutes are over."""


def may_be_taken_back(plan: Plan, *, now: dt.datetime) -> bool:
    """A plan that waits for a vet: at any time. One that runs: for two minutes, and only while nothing was sent."""
    if plan.state == Plan.State.WAITING_FOR_VET:
        return True
    if plan.state != Plan.State.RUNNING or plan.confirmed_at is None:
        return False
    out = plan.messages.filter(state__in=[Message.State.SENT, Message.State.LEASED])
    return now < plan.confirmed_at + TAKE_BACK_WITHIN and not out.exists()


@transaction.atomic
def take_back(plan: Plan, *, staff: Staff, now: dt.datetime) -> Plan:
    """Undo the enrolment; owner, patient and weight stay on record. Raises TooLate."""
    locked = Plan.objects.select_for_update().select_related("patient").get(pk=plan.pk)
    if not may_be_taken_back(locked, now=now):
        raise TooLate(f"{locked.patient} cannot be taken back any more: close the follow-up by signing it off.")
    Plan.objects.all().move(locked.pk, old=locked.state, new=Plan.State.TAKEN_BACK, look_again_at=None)
    drop_plan_messages(locked, now=now)
    locked.messages.filter(state=Message.State.READY).update(state=Message.State.CANCELLED)
    locked.check_ins.update(state=CheckIn.State.CANCELLED, remind_at=None)
    locked.doses.update(state=Dose.State.CANCELLED)
    locked.wound_reviews.update(cancelled=True)
    locked.notices.update(done_at=now)
    locked.flags.open().update(state=Flag.State.ENDED, next_alert_at=None, updated_at=now)
    locked.tasks.open().update(done_at=now, done_by=staff, result="The enrolment was taken back.")
    log(locked, "taken_back", f"taken back by {staff}", now=now, staff=staff)
    plan.refresh_from_db()
    return plan
