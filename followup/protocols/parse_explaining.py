"""Which drugs can explain what is seen, from a protocol's `[[can_explain]]` tables."""

from __future__ import annotations

import datetime as dt

from followup.domain.drug_groups import DrugGroup
from followup.domain.reading import Table
from followup.domain.rules import CanExplain
from followup.protocols.parse_rules import facts_of
from followup.protocols.parse_steady import VOMITING
from followup.protocols.refusals import source_of


def parse_can_explain(table: Table) -> CanExplain:
    """One table: raises the refusal that it carries."""
    seen = table.texts("seen")
    found = CanExplain(
        code=table.text("code"),
        group=table.word("group", DrugGroup),
        because=table.text("because"),
        within=dt.timedelta(hours=table.needed_number("hours", above=0)),
        source=source_of(table),
        facts=facts_of(table, "seen", seen),
        vomiting=VOMITING in seen,
    )
    table.done()
    if not seen:
        raise table.wrong("seen", "must name at least one answer, or vomiting")
    return found
