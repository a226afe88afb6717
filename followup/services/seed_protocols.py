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
    made = 0
    for protocol in available():
        _, new = ProtocolVersion.objects.get_or_create(
            practice=practice,
            name=protocol.name,
            version=protocol.version,
            defaults={"text": merged_text(protocol.name)},
        )
        if new:
            made += 1
            log(practice, "protocol_added", f"{protocol.title}, version {protocol.version}", now=now)
    return made
