"""Looking at a wound on day 3 and day 10, from a photo or in person. Source: clinical defaults, 10."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from django.db import transaction

from clinic.models import Role, Staff
from followup.domain.terms import FollowUpError
from followup.domain.wording import WOUND_AS_EXPECTED
from followup.models import Message, WoundReview
from followup.services.log import log
from followup.services.outbox import queue_to_owner
from followup.services.people import first_recipients
from followup.services.texts import fill, words_of
from followup.services.who_may import only

LASTS = dt.timedelta(days=1)
"""For so long it is worth telling; the patient's page says it all the same."""


@dataclass(frozen=True)
class WoundLook:
    """What was seen and decided. `as_expected`: the owner is told that the wound looks as expected on that day."""

    found: str
    decision: str
    as_expected: bool = False


class AlreadyLookedAt(FollowUpError):
    """Somebody else did this wound review first."""


@transaction.atomic
def look_at_wound(due: WoundReview, looked: WoundLook, *, staff: Staff, now: dt.datetime) -> WoundReview:
    """Write down what a vet or nurse saw and decided, once. Of two, the second is told who was first."""
    only(staff, due.practice_id, Role.VET, Role.NURSE, step="Reviewing a wound")
    if not looked.found.strip():
        raise FollowUpError("Write what you saw.", field="found")
    if not looked.decision.strip():
        raise FollowUpError("Write what you decided, even if that is to wait.", field="decision")
    waiting = WoundReview.objects.filter(pk=due.pk, done_at__isnull=True, cancelled=False)
    written = waiting.update(
        done_at=now,
        done_by=staff,
        found=looked.found.strip(),
        decision=looked.decision.strip(),
        as_expected=looked.as_expected,
    )
    due.refresh_from_db()
    if not written:
        raise AlreadyLookedAt(_who_was_first(due))
    log(due.plan, "wound_reviewed", f"day {due.day}: {due.found}. {due.decision}", now=now, staff=staff, review=due.pk)
    if due.as_expected:
        _tell(due, staff, now=now)
    return due


def _tell(due: WoundReview, staff: Staff, *, now: dt.datetime) -> None:
    """Whoever looks after the patient, once."""
    plan = due.plan
    for recipient in first_recipients(plan, now=now):
        words = words_of([plan]) | {"vet": staff.name, "day": str(due.day)}
        queue_to_owner(
            plan,
            recipient,
            purpose=Message.Purpose.NEWS,
            key=f"wound:{due.pk}:{recipient.pk}",
            text=fill(WOUND_AS_EXPECTED, of=plan.practice, language=recipient.person.language, **words),
            now=now,
            expires_at=now + LASTS,
        )


def _who_was_first(due: WoundReview) -> str:
    if due.done_by is None or due.done_at is None:
        return "This wound review was cancelled."
    at = due.done_at.astimezone(due.practice.zone)
    return f"{due.done_by} did this wound review on {at:%d %B} at {at:%H:%M}. Nothing was changed."
