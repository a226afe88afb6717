"""Vomiting: an event, judged when it was told. Source: clinical defaults, 4 (P; for those that cannot vomit C)."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from followup.domain.recovery import Recovery
from followup.domain.terms import Certainty, Concern, Level, Species
from followup.domain.verdict import Finding

CANNOT_VOMIT = frozenset({Species.GUINEA_PIG, Species.RABBIT, Species.RAT})
FIRST_DAY = dt.timedelta(hours=24)
SEVERAL = 2


def vomiting_findings(recovery: Recovery) -> Iterator[Finding]:
    """What the newest count of vomits gives."""
    told = recovery.vomiting()
    if told is None or told[0] == 0:
        return
    count, at = told
    if recovery.species in CANNOT_VOMIT:
        level, why = Level.URGENT, "this animal cannot vomit: a person must ask what was seen"
    elif count >= SEVERAL or recovery.case.since_surgery(at) >= FIRST_DAY:
        level, why = Level.URGENT, f"vomited {count} times"
    else:
        level, why = Level.MONITOR, "vomited once on the first day"
    yield Finding(
        rule="vomiting",
        concern=Concern.BELLY,
        level=level,
        certainty=Certainty.CERTAIN,
        because=why,
        source="clinical defaults, 4: sheets for owners after surgery (published); C where it cannot vomit",
        since=at,
    )
