"""Whom a plan's messages go to."""

from __future__ import annotations

import datetime as dt

from followup.models import Plan, Recipient
from followup.services.links import recipient_for


def first_recipients(plan: Plan, *, now: dt.datetime) -> list[Recipient]:
    """The owner, or those who look after the patient in the owner's place; each with a link."""
    carers = [carer for carer in plan.patient.carers.all() if not carer.second]
    people = [carer.person for carer in carers] or [plan.patient.owner]
    part = Recipient.Part.CARER if carers else Recipient.Part.OWNER
    return [recipient_for(plan.practice, person, part=part, now=now) for person in people]


def language_of(plan: Plan) -> str:
    """The language of whoever looks after the patient: what goes home on paper is in it."""
    carers = [carer.person for carer in plan.patient.carers.all() if not carer.second]
    return str((carers or [plan.patient.owner])[0].language)


def second_recipients(plan: Plan, *, now: dt.datetime) -> list[Recipient]:
    """Those who are written to when the first are silent."""
    return [
        recipient_for(plan.practice, carer.person, part=Recipient.Part.SECOND_CARER, now=now)
        for carer in plan.patient.carers.all()
        if carer.second
    ]
