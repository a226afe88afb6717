"""A person has seen what is new about a patient: settled flags and photos leave the morning list."""

from __future__ import annotations

import datetime as dt

from clinic.models import Role, Staff
from followup.models import Event, Plan
from followup.services.log import log
from followup.services.who_may import only


def mark_seen(plan: Plan, *, staff: Staff, now: dt.datetime) -> Event:
    """Write down who has seen it. What comes later is new again."""
    only(staff, plan.practice_id, Role.VET, Role.NURSE, step="Marking as seen")
    return log(plan, "seen", "everything new has been seen", now=now, staff=staff)
