"""An emergency reaches a person: alerts by the rota, step by step, until somebody has it and says what came of it.

Source of the steps: clinical defaults, 13 (D).
"""

from __future__ import annotations

import datetime as dt
import logging

from django.db import transaction

from clinic.models import Membership, OnCallShift, Role, Staff
from followup.domain.alerting import EVERYONE, NO_OUTCOME_FOR, THEN_EVERY, next_alert, whom_to_alert
from followup.domain.terms import FollowUpError, Level
from followup.domain.wording import ALERT
from followup.models import Flag, Message
from followup.services.log import log
from followup.services.outbox import queue_to_staff
from followup.services.texts import fill, read_aloud

logger = logging.getLogger(__name__)


class NotYours(FollowUpError):
    """Somebody else has this emergency, or it is over."""


def escalate(*, now: dt.datetime) -> int:
    """Send every alert whose time has come; returns how many flags were dealt with. One that fails stops no other."""
    due = Flag.objects.to_alert(now).select_related("plan__practice", "plan__patient__owner", "acknowledged_by")
    return sum(_alert_or_say_so(flag, now=now) for flag in due)


@transaction.atomic
def acknowledge(flag: Flag, *, staff: Staff, now: dt.datetime) -> None:
    """`staff` has it: the alerts stop, and begin again with that person when no outcome comes in 30 minutes."""
    free = Flag.objects.open().filter(pk=flag.pk, acknowledged_at=None)
    taken = free.update(acknowledged_by=staff, acknowledged_at=now, next_alert_at=None, step=0)
    flag.refresh_from_db()
    if not taken:
        if flag.state != Flag.State.OPEN:
            raise NotYours(f"This one is over: {flag.get_state_display()}.")
        if flag.acknowledged_by_id != staff.pk:
            raise NotYours(f"{flag.acknowledged_by} already has this one.")
        return
    if flag.worst == Level.EMERGENCY and not flag.outcome:
        Flag.objects.filter(pk=flag.pk).update(next_alert_at=now + NO_OUTCOME_FOR)
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


def _alert_or_say_so(flag: Flag, *, now: dt.datetime) -> bool:
    try:
        return _alert(flag, now=now)
    except Exception:
        logger.exception("flag %s could not be alerted about", flag.pk)
        return False


@transaction.atomic
def _alert(flag: Flag, *, now: dt.datetime) -> bool:
    """Take one step for one flag; the conditional update lets only one worker take it."""
    again = flag.acknowledged_at is not None
    began, step = (now, 0) if again or flag.round_began_at is None else (flag.round_began_at, flag.step)
    on_call = [shift.staff for shift in OnCallShift.objects.at(flag.plan.practice, now)]
    if not on_call and flag.acknowledged_by is None:
        step = max(step, EVERYONE)
    taken = Flag.objects.filter(pk=flag.pk, step=flag.step, next_alert_at=flag.next_alert_at).update(
        step=step + 1, round_began_at=began, next_alert_at=_following(began, step, now), acknowledged_at=None
    )
    if not taken:
        return False
    _log(flag, again=again, nobody=not on_call, now=now)
    for staff, every_channel in whom_to_alert(_in_turn(flag, on_call), step):
        key = f"alert:{flag.pk}:{began:%Y%m%d%H%M%S}:{step}:{staff.pk}"
        _write(flag, staff, every_channel=every_channel, key=key, now=now)
    return True


def _log(flag: Flag, *, again: bool, nobody: bool, now: dt.datetime) -> None:
    if again:
        log(flag.plan, "no_outcome", "acknowledged, but no outcome: alerting again", now=now, flag=flag.pk)
    if nobody:
        log(flag.plan, "nobody_on_call", "nobody is on call now", now=now, flag=flag.pk)


def _following(began: dt.datetime, step: int, now: dt.datetime) -> dt.datetime:
    """When the step after `step` is due; once everyone was alerted, never later than a quarter of an hour from now."""
    due = next_alert(began, step + 1, now)
    return min(due, now + THEN_EVERY) if step >= EVERYONE else due


def _in_turn(flag: Flag, on_call: list[Staff]) -> list[Staff]:
    """Who had it and said nothing; then who is on call, or else every vet and administrator of the practice."""
    had_it = [flag.acknowledged_by] if flag.acknowledged_by is not None else []
    return list(dict.fromkeys([*had_it, *(on_call or _everyone(flag))]))


def _everyone(flag: Flag) -> list[Staff]:
    here = Membership.objects.current().filter(practice_id=flag.practice_id)
    return [each.staff for each in here.filter(role__in=[Role.VET, Role.ADMINISTRATOR]).select_related("staff")]


def _write(flag: Flag, staff: Staff, *, every_channel: bool, key: str, now: dt.datetime) -> None:
    plan = flag.plan
    text = fill(
        ALERT,
        of=plan.practice,
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
        queue_to_staff(flag, staff, key=f"{key}:{medium}", text=text, now=now, medium=medium)
