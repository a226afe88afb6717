"""Put a member of staff on call: whom an emergency alerts, and in which order."""

from __future__ import annotations

import datetime as dt

from clinic.models import Membership, OnCallShift, Practice
from clinic.services.refusals import Refused


def put_on_call(
    practice: Practice, *, email: str, starts_at: dt.datetime, ends_at: dt.datetime, position: int = 1
) -> OnCallShift:
    """One shift; `position` 1 is alerted first. Raises Refused for a stranger or a shift that ends before it starts."""
    working = Membership.objects.current().filter(practice=practice, staff__email__iexact=email)
    membership = working.select_related("staff").first()
    if membership is None:
        raise Refused(f"Nobody with {email} works at {practice.name}. Invite them first.", field="email")
    if starts_at >= ends_at:
        raise Refused("A shift ends after it starts. Was a date mistyped?", field="ends_at")
    return OnCallShift.objects.create(
        practice=practice, staff=membership.staff, starts_at=starts_at, ends_at=ends_at, position=position
    )
