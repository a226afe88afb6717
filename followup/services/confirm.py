"""A vet confirms a plan by name: from now on doses, sheet and messages exist."""

from __future__ import annotations

import datetime as dt

from django.db import transaction

from clinic.models import Role, Staff
from followup.domain.terms import FollowUpError
from followup.models import Plan
from followup.services.begin import begin
from followup.services.who_may import only


class NotWaiting(FollowUpError):
    """The plan was confirmed, or taken back, before."""


@transaction.atomic
def confirm(plan: Plan, *, staff: Staff, now: dt.datetime) -> Plan:
    """Begin a plan that waits for a vet. Raises NotYours for anybody but a vet of its practice, and NotWaiting."""
    only(staff, plan.practice_id, Role.VET, step="Confirm a plan")
    begun = begin(plan, staff=staff, now=now)
    plan.refresh_from_db()
    if not begun:
        raise NotWaiting(_what_happened(plan))
    return plan


def _what_happened(plan: Plan) -> str:
    if plan.confirmed_at is None:
        return f"The plan of {plan.patient} was taken back. Nothing was changed."
    at = plan.confirmed_at.astimezone(plan.practice.zone)
    return f"{plan.confirmed_by} confirmed the plan of {plan.patient} at {at:%H:%M}. Nothing was changed."
