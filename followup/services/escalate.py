"""An emergency reaches a person: alerts by the rota, step by step, until somebody has it and says what came of it.

Source of the steps: clinical defaults, 13 (D).
"""

from __future__ import annotations

import datetime as dt

from django.db import transaction

from clinic.models import Membership, OnCallShift, Role, Staff
from followup.domain.alerting import NO_OUTCOME_FOR, next_alert, whom_to_alert
from followup.domain.terms import FollowUpError
from followup.domain.wording import ALERT
from followup.models import Flag, Message
from followup.services.log import log
from followup.services.outbox import queue_to_staff
from followup.services.texts import fill, read_aloud


class NotYours(FollowUpError):
    """Somebody else has this emergency, or it is over."""


def escalate(*, now: dt.datetime) -> int:
    """Send every alert whose time has come; returns how many flags were dealt with."""
    due = Flag.objects.to_alert(now).select_related("plan__practice", "plan__patient__owner")
    return sum(_alert(flag, now=now) for flag in due)


@transaction.atomic
def acknowledge(flag: Flag, *, staff: Staff, now: dt.datetime) -> None:
    """`staff` has it: the alerts stop, and begin again with that person when no outcome comes in 30 minutes."""
    taken = (
        Flag.objects.open()
        .filter(pk=flag.pk, acknowledged_at=None)
        .update(acknowledged_by=staff, acknowledged_at=now, next_alert_at=now + NO_OUTCOME_FOR, step=0)
    )
    if not taken:
        flag.refresh_from_db()
        if flag.acknowledged_by_id == staff.pk:
            return
        raise NotYours(f"{flag.acknowledged_by or 'Somebody'} already has this one.")
    log(flag.plan, "acknowledged", f"{staff} has it", now=now, staff=staff, flag=flag.pk)


@transaction.atomic
def record_outcome(flag: Flag, *, staff: Staff, outcome: Flag.Outcome, note: str, now: dt.datetime) -> None:
    """What came of the emergency. The alerts end; the flag waits for its review."""
    if outcome in {Flag.Outcome.SENT_TO, Flag.Outcome.FALSE_ALARM} and not note.strip():
        raise FollowUpError("Say where to, or why it was a false alarm.", field="note")
    recorded = (
        Flag.objects.open()
        .filter(pk=flag.pk)
        .update(outcome=outcome, outcome_note=note, outcome_at=now, next_alert_at=None)
    )
    if not recorded:
        raise NotYours("This one is closed already.")
    Flag.objects.filter(pk=flag.pk, acknowledged_at=None).update(acknowledged_by=staff, acknowledged_at=now)
    words = f"{Flag.Outcome(outcome).label}. {note}".strip()
    log(flag.plan, "outcome", words, now=now, staff=staff, flag=flag.pk)


@transaction.atomic
def _alert(flag: Flag, *, now: dt.datetime) -> bool:
    """Take one step for one flag; the conditional update lets only one worker take it."""
    began = flag.round_began_at or now
    moved = Flag.objects.filter(pk=flag.pk, step=flag.step, next_alert_at=flag.next_alert_at).update(
        step=flag.step + 1, next_alert_at=next_alert(began, flag.step + 1, now)
    )
    if not moved:
        return False
    if flag.acknowledged_at is not None:
        _begin_again(flag, now=now)
    rota = [flag.acknowledged_by] if flag.acknowledged_by is not None else _rota(flag, now=now)
    for staff, every_channel in whom_to_alert(rota, flag.step):
        _write(flag, staff, every_channel=every_channel, now=now)
    return True


def _begin_again(flag: Flag, *, now: dt.datetime) -> None:
    """Acknowledged, and nothing said for half an hour: the alerts begin again with that person."""
    Flag.objects.filter(pk=flag.pk).update(acknowledged_at=None, round_began_at=now, step=1)
    log(flag.plan, "no_outcome", "acknowledged, but no outcome: alerting again", now=now, flag=flag.pk)
    flag.step, flag.round_began_at = 0, now


def _rota(flag: Flag, *, now: dt.datetime) -> list[Staff]:
    """Who is on call, first first; nobody on call: every vet and administrator of the practice."""
    on_call = [shift.staff for shift in OnCallShift.objects.at(flag.plan.practice, now)]
    if on_call:
        return on_call
    log(flag.plan, "nobody_on_call", "nobody is on call now", now=now, flag=flag.pk)
    everyone = Membership.objects.current().filter(practice_id=flag.practice_id)
    return [each.staff for each in everyone.filter(role__in=[Role.VET, Role.ADMINISTRATOR]).select_related("staff")]


def _write(flag: Flag, staff: Staff, *, every_channel: bool, now: dt.datetime) -> None:
    plan = flag.plan
    text = fill(
        ALERT,
        language="en",
        patient=plan.patient.name,
        species=plan.patient.get_species_display(),
        day=str(plan.day(now)),
        procedure=plan.get_procedure_display(),
        because=flag.because,
        owner=plan.patient.owner.name,
        phone=read_aloud(plan.patient.owner.phone),
        told=flag.owner_told or "nothing yet",
    )
    media = [Message.Medium.EMAIL]
    if every_channel and staff.mobile:
        media.append(Message.Medium.SMS)
    for medium in media:
        key = f"alert:{flag.pk}:{flag.round_began_at or now:%Y%m%d%H%M%S}:{flag.step}:{staff.pk}:{medium}"
        queue_to_staff(flag, staff, key=key, text=text, now=now, medium=medium)
