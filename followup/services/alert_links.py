"""Links in alerts: one flag, one person, 24 hours. Signed, so that nothing needs to be stored."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from django.conf import settings
from django.core import signing

from clinic.models import Staff
from followup.models import Flag

LASTS = dt.timedelta(hours=24)
_signer = signing.Signer(salt="followup.alert")


@dataclass(frozen=True)
class AlertLink:
    """What a link opens."""

    flag: Flag
    staff: Staff


def alert_url(flag: Flag, staff: Staff, *, made_at: dt.datetime) -> str:
    """The address in an alert to `staff` about `flag`."""
    return f"{settings.PUBLIC_URL}/a/{alert_code(flag, staff, made_at=made_at)}/"


def alert_code(flag: Flag, staff: Staff, *, made_at: dt.datetime) -> str:
    """The signed part of the address."""
    return _signer.sign_object({"flag": flag.pk, "staff": staff.pk, "at": made_at.timestamp()})


def read_alert_code(code: str, *, now: dt.datetime) -> AlertLink | None:
    """What the code opens at `now`; None when it is wrong, too old, or the person has left."""
    try:
        value = _signer.unsign_object(code)
        made_at = dt.datetime.fromtimestamp(value["at"], dt.UTC)
    except (signing.BadSignature, KeyError, TypeError, ValueError):
        return None
    flag = Flag.objects.select_related("plan__practice", "plan__patient__owner").filter(pk=value["flag"]).first()
    staff = Staff.objects.filter(pk=value["staff"], is_active=True).first()
    if flag is None or staff is None or now - made_at > LASTS:
        return None
    works_here = staff.memberships.filter(practice_id=flag.practice_id, active=True).exists()
    return AlertLink(flag, staff) if works_here else None
