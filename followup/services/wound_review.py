"""Looking at a wound on day 3 and day 10, from a photo or in person. Source: clinical defaults, 10."""

from __future__ import annotations

import datetime as dt

from django.db import transaction

from clinic.models import Role, Staff
from followup.domain.terms import FollowUpError
from followup.models import WoundReview
from followup.services.log import log
from followup.services.who_may import only


class AlreadyLookedAt(FollowUpError):
    """Somebody else did this wound review first."""


@transaction.atomic
def look_at_wound(due: WoundReview, *, staff: Staff, found: str, decision: str, now: dt.datetime) -> WoundReview:
    """Write down what a vet or nurse saw and decided, once. Of two, the second is told who was first."""
    only(staff, due.practice_id, Role.VET, Role.NURSE, step="Reviewing a wound")
    if not found.strip():
        raise FollowUpError("Write what you saw.", field="found")
    if not decision.strip():
        raise FollowUpError("Write what you decided, even if that is to wait.", field="decision")
    waiting = WoundReview.objects.filter(pk=due.pk, done_at__isnull=True, cancelled=False)
    looked = waiting.update(done_at=now, done_by=staff, found=found.strip(), decision=decision.strip())
    due.refresh_from_db()
    if not looked:
        raise AlreadyLookedAt(_who_was_first(due))
    log(due.plan, "wound_reviewed", f"day {due.day}: {due.found}. {due.decision}", now=now, staff=staff, review=due.pk)
    return due


def _who_was_first(due: WoundReview) -> str:
    if due.done_by is None or due.done_at is None:
        return "This wound review was cancelled."
    at = due.done_at.astimezone(due.practice.zone)
    return f"{due.done_by} did this wound review on {at:%d %B} at {at:%H:%M}. Nothing was changed."
