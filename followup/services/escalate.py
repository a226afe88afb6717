"""An emergency reaches a person: alerts by the rota, step by step, until somebody has it and says what came of it.

Source of the steps: clinical defaults, 13 (D). What is urgent and no more goes its own way: alert_urgent.py.
"""

from __future__ import annotations

import datetime as dt
import logging

from django.db import transaction

from clinic.models import Staff
from followup.domain.alerting import EVERYONE, NO_OUTCOME_FOR, THEN_EVERY, next_alert, whom_to_alert
from followup.domain.terms import FollowUpError, Level
from followup.domain.wording import ALERT
from followup.models import Flag
from followup.services.alert_people import alert, everyone, filled, first, on_call
from followup.services.alert_urgent import alert_urgent
from followup.services.log import log
from followup.services.lost import CALL_FAILED
from followup.services.notices import ask_on_waking

logger = logging.getLogger(__name__)


BETWEEN_CALLS = dt.timedelta(minutes=2)
"""Two calls are two calls only with so much time between them: a button pressed twice is one (ours)."""


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
    """What came of the emergency. The alerts end; the flag waits for its review.

    A call that nobody answered is no outcome before the second: it is written down, and the half hour runs on.
    """
    if outcome in {Flag.Outcome.SENT_TO, Flag.Outcome.FALSE_ALARM} and not note.strip():
        raise FollowUpError("Say where to, or why it was a false alarm.", field="note")
    if outcome == Flag.Outcome.NOT_REACHED and not _second_call(flag, staff=staff, now=now):
        return
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


def failed_calls(flag: Flag) -> list[dt.datetime]:
    """When the owner was rung about this flag, since it was raised, and nobody answered."""
    calls = flag.plan.events.filter(what=CALL_FAILED, data__flag=flag.pk, at__gte=flag.raised_at)
    return list(calls.order_by("at", "pk").values_list("at", flat=True))


def _second_call(flag: Flag, *, staff: Staff, now: dt.datetime) -> bool:
    """Write one more failed call down; whether it is the second. Raises FollowUpError for one at the same moment."""
    before = failed_calls(flag)
    if before and now - before[-1] < BETWEEN_CALLS:
        at = before[-1].astimezone(flag.plan.practice.zone)
        raise FollowUpError(f"Nobody answered at {at:%H:%M}. Ring once more, some minutes later, before you say so.")
    if not Flag.objects.open().filter(pk=flag.pk).exists():
        raise NotYours("This one is closed already.")
    log(flag.plan, CALL_FAILED, "nobody answered the phone", now=now, staff=staff, flag=flag.pk)
    if before:
        Flag.objects.filter(pk=flag.pk).update(second_carer_at=now)  # somebody else may be with the animal
        return True
    if flag.acknowledged_at is None:
        acknowledge(flag, staff=staff, now=now)
    return False


def _alert_or_say_so(flag: Flag, *, now: dt.datetime) -> bool:
    try:
        if flag.worst == Level.EMERGENCY:  # also after a good answer: it goes on until a person has it
            return _alert(flag, now=now)
        return alert_urgent(flag, now=now)
    except Exception:
        logger.exception("flag %s could not be alerted about", flag.pk)
        return False


@transaction.atomic
def _alert(flag: Flag, *, now: dt.datetime) -> bool:
    """Take one step for one flag; the conditional update lets only one worker take it."""
    again = flag.acknowledged_at is not None
    began, step = (now, 0) if again or flag.round_began_at is None else (flag.round_began_at, flag.step)
    there = on_call(flag.plan.practice, now)
    if not there and flag.acknowledged_by is None:
        step = max(step, EVERYONE)
    taken = Flag.objects.filter(pk=flag.pk, step=flag.step, next_alert_at=flag.next_alert_at).update(
        step=step + 1, round_began_at=began, next_alert_at=_following(began, step, now), acknowledged_at=None
    )
    if not taken:
        return False
    _log(flag, again=again, nobody=not there, now=now)
    if not there and not flag.plan.practice.is_open(now):
        ask_on_waking(flag.plan, began=began, now=now)
    in_turn = first(flag.acknowledged_by, there or everyone(flag.plan.practice))
    key = f"alert:{flag.pk}:{began:%Y%m%d%H%M%S}:{step}"
    alert(flag, whom_to_alert(in_turn, step), key=key, text=filled(ALERT, flag, now=now), now=now)
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
