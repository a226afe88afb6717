"""What became of a dose, as told: the dose's own step, and the fact for the observation."""

from __future__ import annotations

import datetime as dt

from followup.domain.terms import DoseOutcome
from followup.models import Dose, Plan, Reply
from followup.services.log import log


def dose_facts(reply: Reply, plan: Plan, *, now: dt.datetime) -> dict[str, object]:
    """The `dose` part of an observation; empty when there is none, or when that dose was already told of."""
    told = reply.raw.get("dose")
    if not told:
        return {}
    dose = Dose.objects.get(pk=told["id"], plan=plan)
    outcome = DoseOutcome(told["outcome"])
    given_at = _given_at(told, now) if outcome is DoseOutcome.GIVEN else None
    waiting = Dose.objects.filter(pk=dose.pk, state=Dose.State.PLANNED)
    if not waiting.update(state=Dose.State.REPORTED, outcome=outcome, given_at=given_at):
        log(plan, "dose_told_again", f"{dose}: {outcome}", now=now, reply=reply.pk)
        return {}
    log(plan, "dose_reported", f"{dose}: {outcome.replace('_', ' ')}", now=now, staff=reply.staff, dose=dose.pk)
    fact: dict[str, object] = {"drug": dose.drug, "outcome": outcome.value}
    return {"dose": fact | ({"given_at": given_at.isoformat()} if given_at is not None else {})}


def _given_at(told: dict[str, str], now: dt.datetime) -> dt.datetime:
    """When it was given as the page had it; never after now."""
    said = told.get("given_at")
    return min(dt.datetime.fromisoformat(said), now) if said else now
