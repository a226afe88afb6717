"""The protocols that ship, as versioned rows of one practice."""

from __future__ import annotations

import datetime as dt

from django.db import transaction

from clinic.models import Practice
from followup.models import ProtocolVersion
from followup.protocols.load import available, merged_text
from followup.services.log import log


@transaction.atomic
def seed_protocols(practice: Practice, *, now: dt.datetime) -> int:
    """Give the practice every protocol version that it does not have yet; returns how many. Each begins as a draft."""
    here = set(ProtocolVersion.objects.filter(practice=practice).values_list("name", "version"))
    missing = [each for each in available() if (each.name, each.version) not in here]
    ProtocolVersion.objects.bulk_create(
        ProtocolVersion(practice=practice, name=each.name, version=each.version, text=merged_text(each.name))
        for each in missing
    )
    if missing:
        titles = "; ".join(f"{each.title}, version {each.version}" for each in missing)
        log(practice, "protocols_added", titles, now=now)
    return len(missing)
