"""What became of a dose, as told: the dose's own step, the doses after it, and the fact for the observation."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

from followup.casefile import observation_json
from followup.domain.dose_times import CannotBeKept
from followup.domain.late_dose import UNTOUCHED, dose_of, moved_by
from followup.domain.observation import DoseReport, Observation, OtherMedicine
from followup.domain.terms import DoseOutcome
from followup.domain.told_dose import Tale, Told, facts_of_tale, outcome_of
from followup.models import Dose, Plan, Reply, Task
from followup.services.dose_rows import medicine_of, move_doses
from followup.services.facts import hours_of
from followup.services.log import log

MENDED_WITHIN = dt.timedelta(minutes=10)
"""A slip of the finger can be put right for so long. Within it a second report is of the same dose (D)."""


def dose_facts(reply: Reply, plan: Plan, *, now: dt.datetime) -> dict[str, object]:
    """The part of an observation about medicine; empty when there is none, or when it says nothing new."""
    told = reply.raw.get("dose")
    if not told:
        return {}
    Plan.objects.select_for_update().get(pk=plan.pk)  # whoever changes the plan at this moment is waited for
    plan.refresh_from_db()
    row = Dose.objects.get(pk=told["id"], plan=plan)
    tale = _tale(told, now)
    if row.state in {Dose.State.CANCELLED, Dose.State.ENDED}:
        _ask_to_ring(plan, row, tale, now=now, because="after the plan had changed")
        return {}
    outcome = outcome_of(tale)
    if outcome is not None and not _keep(row, tale, outcome, reply=reply, now=now):
        if row.outcome != outcome:
            _ask_to_ring(plan, row, tale, now=now, because=f"after “{row.get_outcome_display()}” had been told")
        log(plan, "dose_told_again", f"{row}: {tale.told.replace('_', ' ')}", now=now, reply=reply.pk)
        return {}
    log(plan, "dose_reported", f"{row}: {tale.told.replace('_', ' ')}", now=now, staff=reply.staff, dose=row.pk)
    if outcome is DoseOutcome.GIVEN:
        _move_the_later(plan, row, tale, now=now)
    medicine = medicine_of(plan, row.drug)
    return _fact(facts_of_tale(tale, medicine, dose_of(medicine, row.number)), now)


def _tale(told: dict[str, str], now: dt.datetime) -> Tale:
    """What the page sent; a time after now is now."""
    said = told.get("given_at")
    return Tale(
        told=Told(told["outcome"]),
        at=min(dt.datetime.fromisoformat(said), now) if said else now,
        ml=_number(told.get("ml")),
        mg_per_ml=_number(told.get("mg_per_ml")),
        what=told.get("what", ""),
    )


def _number(typed: str | None) -> Decimal | None:
    return Decimal(typed) if typed else None


def _keep(row: Dose, tale: Tale, outcome: DoseOutcome, *, reply: Reply, now: dt.datetime) -> bool:
    """One step of the row, where this says something new of it. A dose that was given stays given, also if twice."""
    if row.state == Dose.State.REPORTED and not (_is_news(row, tale, outcome) or _is_slip(row, outcome, reply, now)):
        return False
    if not (outcome is DoseOutcome.WENT_WRONG and row.outcome == DoseOutcome.GIVEN):
        row.given_at = tale.at if outcome is DoseOutcome.GIVEN else None
        row.outcome = outcome
    row.state, row.told_at = Dose.State.REPORTED, now
    row.save(update_fields=["state", "outcome", "given_at", "told_at"])
    return True


def _is_news(row: Dose, tale: Tale, outcome: DoseOutcome) -> bool:
    """Of a dose that was told of before: a mishap always, and given after all, while it may be."""
    after_all = outcome is DoseOutcome.GIVEN and row.outcome in UNTOUCHED and tale.at <= row.give_until
    return tale.told.went_wrong or after_all


def _is_slip(row: Dose, outcome: DoseOutcome, reply: Reply, now: dt.datetime) -> bool:
    """The same person puts right at once what he told; two people who differ are for a third."""
    soon = row.told_at is not None and now - row.told_at <= MENDED_WITHIN
    earlier = row.plan.replies.filter(raw__dose__id=row.pk).exclude(pk=reply.pk).order_by("received_at", "pk").last()
    same = earlier is not None and (earlier.recipient_id, earlier.staff_id) == (reply.recipient_id, reply.staff_id)
    return soon and same and row.outcome != outcome


def _move_the_later(plan: Plan, row: Dose, tale: Tale, *, now: dt.datetime) -> None:
    """A dose that was given late takes the later ones with it."""
    medicine = medicine_of(plan, row.drug)
    try:
        moved = moved_by(medicine, row.number, tale.at, hours_of(plan))
    except CannotBeKept as fault:
        _ask_to_ring(plan, row, tale, now=now, because=f"so late that the next dose comes too soon ({fault})")
        return
    if moved != medicine:
        move_doses(plan, moved, now=now)
        following = min(each.at for each in moved.doses if each.number > row.number)
        log(plan, "doses_moved", f"{row.drug}: given late, next {hours_of(plan).local(following):%a %H:%M}", now=now)


def _ask_to_ring(plan: Plan, row: Dose, tale: Tale, *, now: dt.datetime, because: str) -> None:
    """What no rule can settle is for a person, at once."""
    text = f"{row} of {plan.patient}: told “{tale.told.replace('_', ' ')}” {because}. Ring the owner."
    Task.objects.get_or_create(
        practice_id=plan.practice_id,
        key=f"dose:{row.pk}:{tale.told}",
        defaults={"plan": plan, "kind": Task.Kind.PHONE, "text": text, "due_at": now, "made_at": now},
    )


def _fact(fact: DoseReport | OtherMedicine, now: dt.datetime) -> dict[str, object]:
    """The key of an observation that holds it."""
    report = fact if isinstance(fact, DoseReport) else None
    other = fact if isinstance(fact, OtherMedicine) else None
    seen = observation_json(Observation(at=now, dose=report, other_medicine=other))
    return {key: seen[key] for key in ("dose", "other_medicine") if key in seen}
