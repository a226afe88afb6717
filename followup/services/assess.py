"""What is known has changed, or time has passed: verdict, flags, messages and the next look, in one place.

Running it twice changes nothing.
"""

from __future__ import annotations

import datetime as dt
import logging
from collections.abc import Sequence

from django.db import transaction

from followup.casefile import read_before, rules_in, verdict_json
from followup.domain.acting import acted_on_from, to_act_on
from followup.domain.explaining import explain
from followup.domain.explanation import Explanation
from followup.domain.recovery import Recovery
from followup.domain.silence import next_step
from followup.domain.terms import CheckInKind, Level
from followup.domain.triage import triage
from followup.domain.verdict import Ask, Verdict
from followup.models import CheckIn, Dose, Flag, Plan
from followup.models import Verdict as VerdictRow
from followup.services.advice import advice_for
from followup.services.facts import recovery_of
from followup.services.faults import write_down
from followup.services.gather import gather
from followup.services.log import log
from followup.services.not_weighed import call_a_person, weighed_again
from followup.services.second_carer import expect_a_word
from followup.services.tell import phone_who_stopped, tell_owner

logger = logging.getLogger(__name__)

EXTRA_ANSWER_TIME = dt.timedelta(hours=2)
MOST_EXTRA_A_DAY = 6
"""Questions beyond the schedule. Source: clinical defaults, 7 (D)."""


@transaction.atomic
def assess(plan: Plan, *, now: dt.datetime, cause: VerdictRow.Cause) -> Verdict | None:
    """Triage the plan as it is known at `now` and write down what follows from it.

    None: the rules could not be weighed. Then nothing of a verdict is written, a person is called, and whatever the
    caller has stored stands: no fault of ours loses an answer or stops the review of a flag.
    """
    locked = Plan.objects.select_for_update().select_related("protocol", "practice", "patient").get(pk=plan.pk)
    verdict = None
    try:
        with transaction.atomic():
            verdict = _weigh(locked, now=now, cause=cause)
            weighed_again(locked, now=now)
    except Exception as fault:  # noqa: BLE001 - a bug, a broken protocol, facts that cannot be read: a person looks
        call_a_person(locked, fault, cause=cause, now=now)
    plan.refresh_from_db()
    return verdict


def _weigh(locked: Plan, *, now: dt.datetime, cause: VerdictRow.Cause) -> Verdict:
    recovery = recovery_of(locked)
    verdict = triage(recovery, now)
    if locked.state != Plan.State.RUNNING or locked.paused not in {"", Plan.Pause.WORDS_SAY_DIED}:
        Plan.objects.filter(pk=locked.pk).update(look_again_at=None, assessed_at=now)
        return verdict
    _keep(locked, verdict, recovery, cause=cause)
    waits_until = acted_on_from(recovery, verdict)
    risen = gather(locked, to_act_on(verdict.findings, waits=waits_until is not None), verdict.by_concern(), now=now)
    _hold_doses(locked, verdict.held_drugs)
    if locked.paused:
        # Unread words that name a death: the owner is left in peace and time alone adds nothing, but a red answer that
        # came with them still reaches people.
        Plan.objects.filter(pk=locked.pk).update(level=verdict.level, look_again_at=None, assessed_at=now)
    else:
        _look_again(locked, verdict, waits_until, next_step(recovery, now))
        _tell(locked, risen, cause=cause, now=now)
        _ask_beyond_the_schedule(locked, verdict.ask, now=now)
    return verdict


def _keep(plan: Plan, verdict: Verdict, recovery: Recovery, *, cause: VerdictRow.Cause) -> None:
    """Write the verdict down when it differs from the last one in anything but the time."""
    body = verdict_json(verdict, recovery.case.hours.zone)
    last = plan.verdicts.order_by("at", "pk").last()
    if last is not None and _gist(last.body) == _gist(body):
        return
    explanation = _explained(plan, recovery, verdict, last)
    VerdictRow.objects.create(
        practice_id=plan.practice_id,
        plan=plan,
        at=verdict.at,
        level=verdict.level,
        cause=cause,
        body=verdict_json(verdict, recovery.case.hours.zone, explanation),
    )
    if last is not None and last.level != verdict.level:
        text = f"{Level(last.level).word} to {verdict.level.word}"
        log(plan, "level_changed", text, now=verdict.at, cause=str(cause))


def _explained(plan: Plan, recovery: Recovery, verdict: Verdict, last: VerdictRow | None) -> Explanation | None:
    """The explanation, compared with the last verdict that was kept; a fault in it never costs the verdict itself."""
    try:
        return explain(recovery, verdict, None if last is None else read_before(last.at, last.body))
    except Exception as fault:  # noqa: BLE001 - a verdict without its explanation still acts
        write_down(logger, f"a verdict on plan {plan.pk} could not be explained", fault)
        return None


def _gist(body: dict[str, object]) -> tuple[object, ...]:
    """What makes one verdict differ from another: everything but the running figures."""
    return body.get("level"), rules_in(body), body.get("heard"), body.get("held_doses"), body.get("paused")


def _tell(plan: Plan, risen: Sequence[Flag], *, cause: VerdictRow.Cause, now: dt.datetime) -> None:
    """The owner is told at once: an emergency always by message too, the rest when no page is open to show it."""
    level = Level(max((flag.level for flag in risen), default=Level.ON_TRACK))
    if level < Level.URGENT:
        return
    advice = advice_for(plan, level, now=now)
    urgent = [flag for flag in risen if flag.level >= Level.URGENT]
    Flag.objects.filter(pk__in=[flag.pk for flag in urgent]).update(owner_told=advice.heading, owner_told_at=now)
    if cause != VerdictRow.Cause.REPLY:
        expect_a_word(urgent, now=now)
    worst = max(urgent, key=lambda flag: flag.level)
    if level is Level.EMERGENCY or cause != VerdictRow.Cause.REPLY:
        tell_owner(plan, advice, flag=worst, key=f"advice:{worst.pk}:{level.word}:{worst.count}", now=now)
    else:
        phone_who_stopped(plan, worst, now=now)


def _hold_doses(plan: Plan, drugs: Sequence[str]) -> None:
    waiting = plan.doses.filter(state=Dose.State.PLANNED)
    waiting.filter(drug__in=drugs, held=False).update(held=True)
    waiting.exclude(drug__in=drugs).filter(held=True).update(held=False)


def _ask_beyond_the_schedule(plan: Plan, ask: Ask | None, *, now: dt.datetime) -> None:
    """Keep one extra check-in ahead: the next question that the running clocks call for."""
    extra = plan.check_ins.filter(kind=CheckInKind.EXTRA)
    outdated = extra.filter(state=CheckIn.State.PLANNED)
    if ask is not None:
        outdated = outdated.exclude(at=ask.at)
    outdated.update(state=CheckIn.State.CANCELLED)
    asked = extra.exclude(state=CheckIn.State.CANCELLED).filter(at__gt=now - dt.timedelta(hours=24)).count()
    if ask is None or asked >= MOST_EXTRA_A_DAY:
        return
    questions = list(ask.questions)
    made = {"practice_id": plan.practice_id, "day": max(plan.day(ask.at), 0), "answer_by": ask.at + EXTRA_ANSWER_TIME}
    CheckIn.objects.update_or_create(
        plan=plan,
        at=ask.at,
        kind=CheckInKind.EXTRA,
        state=CheckIn.State.PLANNED,
        defaults={"questions": questions},  # another clock may run by now
        create_defaults=made | {"questions": questions},
    )


def _look_again(plan: Plan, verdict: Verdict, *others: dt.datetime | None) -> None:
    moments = [at for at in (verdict.look_again_at, verdict.next_rise_at, *others) if at is not None]
    plan.look_again_at = min(moments, default=None)  # advice names it
    Plan.objects.filter(pk=plan.pk).update(
        level=verdict.level,
        look_again_at=plan.look_again_at,
        assessed_at=verdict.at,
    )
