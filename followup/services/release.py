"""A vet lets a held medicine go on: what was known until then holds it no longer."""

from __future__ import annotations

import datetime as dt

from django.db import transaction

from clinic.models import Role, Staff
from followup.casefile.refusals import moment_json
from followup.domain.terms import FollowUpError
from followup.models import Dose, Plan, Verdict
from followup.services.assess import assess
from followup.services.log import log
from followup.services.supersede import supersede
from followup.services.who_may import only


class NothingHeld(FollowUpError):
    """No dose of this medicine is held."""


@transaction.atomic
def release(plan: Plan, drug: str, *, staff: Staff, decided: str, now: dt.datetime) -> Plan:
    """Let its reminders go out again. `decided`: what the vet decided, for the record. Raises NotYours, NothingHeld."""
    only(staff, plan.practice_id, Role.VET, step="Releasing a held medicine")
    if not decided.strip():
        raise FollowUpError("Write what you decided.", field="decided")
    locked = Plan.objects.select_for_update().get(pk=plan.pk)
    if not locked.doses.filter(drug=drug, held=True, state=Dose.State.PLANNED).exists():
        raise NothingHeld(f"No dose of {drug} is held any more. Nothing was changed.")
    releases = [*locked.releases, {"drug": drug, "at": moment_json(now), "by": str(staff)}]
    Plan.objects.filter(pk=plan.pk).update(releases=releases)
    held = locked.doses.filter(drug=drug, held=True, give_until__gt=now)
    supersede(doses=held)
    held.update(reminded_at=None)
    log(locked, "released", f"{drug}: {decided.strip()}", now=now, staff=staff, drug=drug)
    assess(plan, now=now, cause=Verdict.Cause.STAFF)
    plan.refresh_from_db()
    return plan
