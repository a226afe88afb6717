"""Signing a follow-up off: a vet says how it ended, the owner is told what may still come; or it begins again."""

from __future__ import annotations

import datetime as dt

from django.db import transaction

from clinic.models import Role, Staff
from followup.domain.readiness import Standing, reasons_against
from followup.domain.terms import FollowUpError, Level, Outcome
from followup.domain.wording import GOODBYE
from followup.models import CheckIn, Dose, Message, Plan, Reply, Task, Verdict
from followup.services.assess import assess
from followup.services.log import log
from followup.services.lost import lost
from followup.services.outbox import drop_plan_messages, queue_to_owner
from followup.services.people import first_recipients
from followup.services.texts import fill, words_of
from followup.services.who_may import only

GOODBYE_LASTS = dt.timedelta(days=2)
LAST_DAY = 30
"""The last calendar day on which it may go on: wound infection is defined to 30 days. Source: clinical defaults, 7."""


NOT_WELL = (
    "Nothing has been heard for a week and two calls failed: that is lost to follow-up, not well. "
    "Write down what you know first, as answers by phone."
)


class NotReady(FollowUpError):
    """Something stands against signing off."""


def why_not(plan: Plan, *, now: dt.datetime) -> tuple[str, ...]:
    """Every reason why this plan may not be signed off at `now`; none: it may."""
    zone = plan.practice.zone
    words = plan.tasks.open().filter(kind=Task.Kind.READ_WORDS).count()
    kept_back = plan.replies.filter(state=Reply.State.FOR_A_PERSON).exclude(text="")
    standing = Standing(
        today=now.astimezone(zone).date(),
        closes_on=plan.sign_off_at.astimezone(zone).date(),
        open_flags=tuple(f"{flag.concern}, {Level(flag.worst).word}" for flag in plan.flags.open().order_by("pk")),
        reviews=tuple(plan.wound_reviews.filter(done_at__isnull=True, cancelled=False).values_list("day", flat=True)),
        words_unread=max(words, kept_back.count()),
        waits_for_vet=plan.state == Plan.State.WAITING_FOR_VET,
        paused=plan.get_paused_display() if plan.paused else "",
        ended=plan.state in {Plan.State.CLOSED, Plan.State.TAKEN_BACK},
    )
    return reasons_against(standing)


@transaction.atomic
def sign_off(plan: Plan, *, staff: Staff, outcome: Outcome, now: dt.datetime) -> Plan:
    """Close the plan with its outcome, cancel what has not happened, and take leave of the owner."""
    only(staff, plan.practice_id, Role.VET, step="Signing off")
    locked = Plan.objects.select_for_update().select_related("practice", "patient__owner").get(pk=plan.pk)
    reasons = why_not(locked, now=now)
    if reasons:
        raise NotReady(" ".join(reasons))
    if outcome is Outcome.NONE and lost(locked, now=now) is not None:
        raise FollowUpError(NOT_WELL, field="outcome")
    if outcome is Outcome.DIED:
        raise FollowUpError("A death is recorded by “has died”, which ends everything about the patient.")
    closed = Plan.objects.all().move(
        plan.pk,
        old=Plan.State.RUNNING,
        new=Plan.State.CLOSED,
        outcome=outcome,
        closed_by=staff,
        closed_at=now,
        look_again_at=None,
    )
    if not closed:
        raise NotReady("This follow-up has ended already.")
    _cancel_the_rest(locked, staff=staff, now=now)
    _take_leave(locked, now=now)
    log(locked, "signed_off", f"outcome: {outcome.value.replace('_', ' ')}", now=now, staff=staff)
    plan.refresh_from_db()
    return plan


@transaction.atomic
def reopen(plan: Plan, *, now: dt.datetime, staff: Staff | None = None) -> bool:
    """Go on with a plan that was signed off, up to day 30. False: it cannot, and nothing changed."""
    if plan.outcome == Outcome.DIED or plan.day(now) > LAST_DAY:
        return False
    again = Plan.objects.all().move(
        plan.pk, old=Plan.State.CLOSED, new=Plan.State.RUNNING, outcome="", closed_by=None, closed_at=None
    )
    if not again:
        return False
    plan.messages.to_owners().filter(state=Message.State.READY, purpose=Message.Purpose.GOODBYE).update(
        state=Message.State.CANCELLED
    )
    plan.refresh_from_db()
    log(plan, "reopened", "the follow-up goes on", now=now, staff=staff)
    assess(plan, now=now, cause=Verdict.Cause.STAFF if staff is not None else Verdict.Cause.REPLY)
    return True


def _cancel_the_rest(plan: Plan, *, staff: Staff, now: dt.datetime) -> None:
    drop_plan_messages(plan, now=now)
    plan.check_ins.filter(state__in=[CheckIn.State.PLANNED, CheckIn.State.ASKED]).update(
        state=CheckIn.State.CANCELLED, remind_at=None
    )
    plan.doses.filter(state=Dose.State.PLANNED).update(state=Dose.State.CANCELLED)
    plan.tasks.open().update(done_at=now, done_by=staff, result="The follow-up was signed off.")


def _take_leave(plan: Plan, *, now: dt.datetime) -> None:
    """The last message names the late signs, to day 30."""
    for recipient in first_recipients(plan, now=now):
        queue_to_owner(
            plan,
            recipient,
            purpose=Message.Purpose.GOODBYE,
            key=f"goodbye:{plan.pk}:{recipient.pk}:{now:%Y%m%d%H%M%S}",
            text=fill(GOODBYE, of=plan.practice, language=recipient.person.language, **words_of([plan])),
            now=now,
            expires_at=now + GOODBYE_LASTS,
        )
