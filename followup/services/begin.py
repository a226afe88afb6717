"""A plan begins to run: doses, check-ins, reviews, links and the first message, in one step."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator

from clinic.models import Staff
from followup.domain.compiled import PlannedCheckIn
from followup.domain.wording import WELCOME
from followup.models import CheckIn, Dose, Message, Plan, Recipient, Task, Verdict, WoundReview
from followup.services.advice import told_time
from followup.services.assess import assess
from followup.services.dose_rows import rows_of
from followup.services.facts import compiled_of, hours_of
from followup.services.log import log
from followup.services.notices import keep_dates
from followup.services.outbox import queue_to_owner
from followup.services.people import first_recipients, second_recipients
from followup.services.texts import fill, words_of

TAKE_BACK_WITHIN = dt.timedelta(minutes=2)
"""The first message is held this long, so that a slip can be taken back before anybody reads of it."""
WELCOME_LASTS = dt.timedelta(hours=12)


def begin(plan: Plan, *, staff: Staff, now: dt.datetime) -> bool:
    """WAITING_FOR_VET → RUNNING, and everything that follows. False: somebody else was first, and nothing changed.

    Call it inside a transaction.
    """
    moved = Plan.objects.all().move(
        plan.pk, old=Plan.State.WAITING_FOR_VET, new=Plan.State.RUNNING, confirmed_by=staff, confirmed_at=now
    )
    if not moved:
        return False
    plan.refresh_from_db()
    compiled = compiled_of(plan)
    Dose.objects.bulk_create(rows_of(plan, compiled, now=now))
    CheckIn.objects.bulk_create(check_in_rows(plan, compiled.check_ins, now=now))
    WoundReview.objects.bulk_create(
        WoundReview(practice_id=plan.practice_id, plan=plan, day=each.day, due_at=each.at)
        for each in compiled.wound_reviews
    )
    keep_dates(plan, compiled, hours_of(plan))
    plan.tasks.open().filter(kind=Task.Kind.CONFIRM_PLAN).update(done_at=now, done_by=staff, result="Confirmed.")
    log(plan, "confirmed", f"confirmed by {staff}", now=now, staff=staff)
    second_recipients(plan, now=now)
    for recipient in first_recipients(plan, now=now):
        _welcome(plan, recipient, now=now)
    assess(plan, now=now, cause=Verdict.Cause.ENROLLED)
    return True


def check_in_rows(plan: Plan, planned: Iterable[PlannedCheckIn], *, now: dt.datetime) -> Iterator[CheckIn]:
    """One row a check-in; one whose answer was due before the plan began was never asked, so its silence is no sign."""
    for each in planned:
        yield CheckIn(
            practice_id=plan.practice_id,
            plan=plan,
            kind=each.kind,
            day=each.day,
            at=each.at,
            answer_by=each.answer_by,
            questions=list(each.questions),
            photo=each.photo,
            state=CheckIn.State.PLANNED if each.answer_by > now else CheckIn.State.CANCELLED,
        )


def _welcome(plan: Plan, recipient: Recipient, *, now: dt.datetime) -> None:
    first = plan.check_ins.filter(state=CheckIn.State.PLANNED).order_by("at", "pk").first()
    begins = told_time(max(first.at, now), hours_of(plan), now=now) if first is not None else ""
    queue_to_owner(
        plan,
        recipient,
        purpose=Message.Purpose.WELCOME,
        key=f"welcome:{plan.pk}:{recipient.pk}",
        text=fill(WELCOME, of=plan.practice, language=recipient.person.language, **words_of([plan]), first=begins),
        now=now,
        not_before=now + TAKE_BACK_WITHIN,
        expires_at=now + WELCOME_LASTS,
    )
