"""An owner lives by another clock: another zone, other waking hours, or away at other times. From now on."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace

from django.db import transaction

from clinic.models import Owner, Role, Staff
from followup.casefile import case_json, read_case
from followup.domain.case import Case
from followup.domain.revising import Rules, Standing, revise_plan
from followup.models import Plan
from followup.protocols.load_formulary import formulary
from followup.services.dose_rows import became_of
from followup.services.draft import Json, hours_json, refuse_refused
from followup.services.facts import case_of, compiled_of, protocol_of
from followup.services.going_on import kept
from followup.services.new_version import NewVersion, put_in_force
from followup.services.who_may import only

BECAUSE = "The owner's hours have changed."


@dataclass(frozen=True)
class NewHours:
    """How the owner lives from now on; `away` in the shape of the case format."""

    time_zone: str
    wakes: dt.time
    sleeps: dt.time
    away: tuple[Json, ...] = ()


@transaction.atomic
def owner_moves(owner: Owner, hours: NewHours, *, staff: Staff, now: dt.datetime) -> int:
    """Keep the new hours, and work out what is to come of each running plan anew; returns how many plans it was.

    Raises BadCase for hours that leave no time for the animal, and PlanRefused where a medicine cannot be given so:
    then nothing is changed.
    """
    only(staff, owner.practice_id, Role.FRONT_DESK, Role.NURSE, Role.VET, step="Changing an owner's hours")
    owner.time_zone, owner.wakes, owner.sleeps, owner.away = (
        hours.time_zone,
        hours.wakes,
        hours.sleeps,
        list(hours.away),
    )
    owner.save(update_fields=["time_zone", "wakes", "sleeps", "away"])
    plans = Plan.objects.running().filter(patient__owner=owner)
    for plan in plans.select_for_update(of=("self",)).select_related("practice", "patient__owner", "protocol"):
        _recompute(plan, owner, staff=staff, now=now)
    return len(plans)


def _recompute(plan: Plan, owner: Owner, *, staff: Staff, now: dt.datetime) -> None:
    case = _case(plan, owner)
    if plan.paused == Plan.Pause.IN_HOSPITAL:  # what is to come is worked out when it goes home
        Plan.objects.filter(pk=plan.pk).update(case=case_json(case))
        return
    over, before = became_of(plan, now=now), compiled_of(plan)
    wanted = kept(plan, over)
    standing = Standing(before, now, over, asks_anew=True)
    compiled = revise_plan(case, wanted, standing, Rules(protocol_of(plan), formulary()))
    refuse_refused(compiled, said="Nothing was changed.")
    put_in_force(plan, NewVersion(case, compiled, BECAUSE, over), staff=staff, now=now)


def _case(plan: Plan, owner: Owner) -> Case:
    before = case_of(plan)
    values = {**case_json(before), "time_zone": owner.time_zone, "owner_hours": hours_json(owner)}
    return replace(before, hours=read_case(values).hours)
