"""Calls that nobody answered, and whether a patient is lost to follow-up: proposed here, confirmed by a person."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from django.db.models import Max

from clinic.models import Staff
from followup.domain.lost import is_lost
from followup.domain.terms import FollowUpError
from followup.models import Plan
from followup.services.facts import case_of, readable
from followup.services.log import log

CALL_FAILED = "call_failed"
"""The word in the log for a call that nobody answered."""


@dataclass(frozen=True)
class Lost:
    """What a person is told before he calls a patient lost."""

    heard_at: dt.datetime
    calls: tuple[dt.datetime, ...]
    days: int


def record_failed_call(plan: Plan, *, staff: Staff, call: str, now: dt.datetime) -> bool:
    """Write down that the owner was rung and nobody answered. `call` is the page's id: sent twice counts once."""
    if plan.state != Plan.State.RUNNING:
        raise FollowUpError("This follow-up is not running, so no call is written down here.")
    if plan.events.filter(what=CALL_FAILED, data__call=call).exists():
        return False
    log(plan, CALL_FAILED, "nobody answered the phone", now=now, staff=staff, call=call)
    return True


def lost(plan: Plan, *, now: dt.datetime) -> Lost | None:
    """Whether the outcome "lost" is proposed; None: it is not."""
    heard_at = heard_last(plan)
    calls = list(plan.events.filter(what=CALL_FAILED).order_by("at", "pk").values_list("at", flat=True))
    if plan.state != Plan.State.RUNNING or not is_lost(heard_at, calls, now):
        return None
    return Lost(heard_at, tuple(at for at in calls if at > heard_at), (now - heard_at).days)


def heard_last(plan: Plan) -> dt.datetime:
    """When anybody last told us anything: answers, doses, weights, words, photos, or a call with a vet."""
    told = [
        plan.observations.aggregate(at=Max("seen_at"))["at"],
        plan.replies.aggregate(at=Max("received_at"))["at"],
        plan.photos.aggregate(at=Max("received_at"))["at"],
        *_spoken_to(plan),
    ]
    return max((at for at in told if at is not None), default=plan.discharged_at)


def _spoken_to(plan: Plan) -> tuple[dt.datetime, ...]:
    nobody: tuple[dt.datetime, ...] = ()
    return readable(lambda: tuple(said.at for said in case_of(plan).vet_said), otherwise=nobody)
