"""A changed plan comes into force: the old one is kept, only the future is written anew, and the owner hears once."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.utils.translation import override

from clinic.models import Staff
from followup.casefile import case_json, compiled_from_json, plan_json
from followup.domain.case import Case
from followup.domain.changes import Past, PlanChange, changes
from followup.domain.compiled import CompiledPlan
from followup.domain.terms import CheckInKind
from followup.domain.wording import REVISED
from followup.models import CheckIn, Dose, Message, Plan, PlanVersion, Verdict
from followup.services.assess import assess
from followup.services.begin import check_in_rows
from followup.services.change_words import change_words
from followup.services.dose_rows import Key, rows_of
from followup.services.facts import compiled_of
from followup.services.log import log
from followup.services.notices import keep_dates
from followup.services.outbox import ADVICE_PRIORITY, queue_to_owner
from followup.services.people import first_recipients
from followup.services.supersede import supersede
from followup.services.texts import fill, words_of

TOLD_WITHIN = dt.timedelta(hours=24)
"""A change that could not be told by then is a call for staff."""
KEY = "revised"


@dataclass(frozen=True)
class NewVersion:
    """The plan as it is to be. `over`: the doses that stay; `stopped`: drugs of which nothing more is given."""

    case: Case
    compiled: CompiledPlan
    because: str
    over: Mapping[Key, dt.datetime | None]
    stopped: frozenset[str] = frozenset()

    def past(self, now: dt.datetime) -> Past:
        """What it leaves as it is."""
        return Past(now, self.over, self.stopped)


def put_in_force(plan: Plan, new: NewVersion, *, staff: Staff, now: dt.datetime) -> PlanChange:
    """Write the new version down and tell the owner what it changes. Inside a transaction, with the plan locked."""
    before = compiled_of(plan)
    change = changes(before, new.compiled, new.past(now))
    _keep_the_old(plan, new, change, staff=staff, now=now)
    _write(plan, new)
    asks_anew = new.compiled.check_ins != before.check_ins  # else one that a call has dropped would come back
    dropped = _check_ins(plan, new.compiled, now=now) if asks_anew else []
    supersede(doses=_doses(plan, new, change, now=now), check_ins=dropped)
    _reviews(plan, new.compiled)
    keep_dates(plan, new.compiled, new.case.hours)
    _tell(plan, new, now=now)
    log(plan, "revised", f"version {plan.version}: {new.because}", now=now, staff=staff, version=plan.version)
    assess(plan, now=now, cause=Verdict.Cause.STAFF)
    return change


def _keep_the_old(plan: Plan, new: NewVersion, change: PlanChange, *, staff: Staff, now: dt.datetime) -> None:
    PlanVersion.objects.create(
        practice_id=plan.practice_id,
        plan=plan,
        number=plan.version,
        case=plan.case,
        compiled=plan.compiled,
        dosing_weight_g=plan.dosing_weight_g,
        replaced_at=now,
        replaced_by=staff,
        because=new.because,
        changes=list(change_words(change, new.case.hours, now=now)),
    )


def _write(plan: Plan, new: NewVersion) -> None:
    plan.version += 1
    plan.case = case_json(new.case)
    plan.compiled = plan_json(new.compiled, new.case.hours.zone)
    plan.dosing_weight_g = new.case.dosing_weight_g
    plan.discharged_at = new.case.discharged_at
    plan.sign_off_at = new.compiled.sign_off_at
    plan.save(update_fields=["version", "case", "compiled", "dosing_weight_g", "discharged_at", "sign_off_at"])


def _doses(plan: Plan, new: NewVersion, change: PlanChange, *, now: dt.datetime) -> list[Dose]:
    """Rows to come as computed; returns those that were dropped. A row that stays the same stays."""
    planned = list(plan.doses.filter(state=Dose.State.PLANNED))
    waiting = [row for row in planned if (row.drug, row.number) not in new.over]
    others = frozenset(each.drug for each in change.medicines if each.amount_changed)
    still_open = [row for row in planned if row not in waiting and row.give_until > now and _ends(row, new, others)]
    wanted = {_what(row): row for row in rows_of(plan, new.compiled, now=now, without=new.over)}
    dropped = [row for row in waiting if _what(row) not in wanted]
    Dose.objects.filter(pk__in=[row.pk for row in dropped]).update(state=Dose.State.CANCELLED)
    Dose.objects.filter(pk__in=[row.pk for row in still_open]).update(state=Dose.State.ENDED)
    kept = {_what(row) for row in waiting} - {_what(row) for row in dropped}
    Dose.objects.bulk_create(row for what, row in wanted.items() if what not in kept)
    return [*still_open, *dropped]


def _ends(row: Dose, new: NewVersion, others: frozenset[str]) -> bool:
    """Whether an open dose ends with the change: its medicine is stopped, or nobody was told the old amount yet."""
    told = row.messages.exclude(state__in=[Message.State.READY, Message.State.SUPERSEDED]).exists()
    return row.drug in new.stopped or (row.drug in others and not told)


def _what(row: Dose) -> tuple[object, ...]:
    return row.drug, row.number, row.at, row.not_before, row.give_until, row.amount, row.strength


def _check_ins(plan: Plan, compiled: CompiledPlan, *, now: dt.datetime) -> list[CheckIn]:
    """As for doses; questions beyond the schedule are assess's own."""
    waiting = list(plan.check_ins.filter(state=CheckIn.State.PLANNED, at__gt=now).exclude(kind=CheckInKind.EXTRA))
    to_come = [each for each in compiled.check_ins if each.at > now]
    wanted = {_asked(row): row for row in check_in_rows(plan, to_come, now=now)}
    known = {_asked(row) for row in plan.check_ins.exclude(state=CheckIn.State.CANCELLED)}
    dropped = [row for row in waiting if _asked(row) not in wanted]
    CheckIn.objects.filter(pk__in=[row.pk for row in dropped]).update(state=CheckIn.State.CANCELLED)
    CheckIn.objects.bulk_create(row for asked, row in wanted.items() if asked not in known)
    return dropped


def _asked(row: CheckIn) -> tuple[object, ...]:
    return row.kind, row.at


def _reviews(plan: Plan, compiled: CompiledPlan) -> None:
    """A review keeps its day of recovery, which may begin at another hour now."""
    for each in compiled.wound_reviews:
        plan.wound_reviews.filter(day=each.day, done_at__isnull=True).update(due_at=each.at)


def _tell(plan: Plan, new: NewVersion, *, now: dt.datetime) -> None:
    """One message with everything that has changed since the owner last heard; an unsent one is made anew."""
    unsent = plan.messages.filter(key__startswith=f"{KEY}:{plan.pk}:", state=Message.State.READY)
    since = _told_version(unsent.values_list("key", flat=True), plan.version - 1)
    unsent.update(state=Message.State.SUPERSEDED)
    then = compiled_from_json(plan.versions.get(number=since).compiled)
    change = changes(then, new.compiled, new.past(now))
    for recipient in first_recipients(plan, now=now) if change else []:
        with override(recipient.person.language):
            said = " ".join(change_words(change, new.case.hours, now=now))
        queue_to_owner(
            plan,
            recipient,
            purpose=Message.Purpose.NEWS,
            key=f"{KEY}:{plan.pk}:{since}:{plan.version}:{recipient.pk}",
            text=fill(
                REVISED,
                of=plan.practice,
                language=recipient.person.language,
                **words_of([plan]),
                changes=said,
            ),
            now=now,
            expires_at=now + TOLD_WITHIN,
            priority=ADVICE_PRIORITY,
        )


def _told_version(keys: Iterable[str], last: int) -> int:
    """The version that the owner knows: the one from which the oldest unsent message begins."""
    return min([last, *(int(key.split(":")[2]) for key in keys)])
