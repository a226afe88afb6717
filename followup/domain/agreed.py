"""What a named vet of a practice has settled once, in the practice's protocol, so that not every plan asks for it.

Source: clinical defaults, 8: a higher limit that a named vet sets with its source; a drug that is not in the table.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from followup.domain.formulary import DoseRow, Formulary, Limit
from followup.domain.sources import Source
from followup.domain.terms import ProblemKind, Species


@dataclass(frozen=True)
class Agreed:
    """`needs_vet_above`: mg per kg and day from which a vet confirms each plan; None: a drug without a row.

    What is refused stays refused.
    """

    drug: str
    vet: str
    source: Source
    needs_vet_above: Decimal | None = None


def with_agreed(formulary: Formulary, species: Species, agreed: Sequence[Agreed]) -> Formulary:
    """The formulary as this practice uses it for this species."""
    if not agreed:
        return formulary
    by_drug = {each.drug: each for each in agreed}
    return replace(
        formulary,
        rows=tuple(_row(row, by_drug.get(row.drug)) if row.species is species else row for row in formulary.rows),
        settled=formulary.settled | by_drug.keys(),
    )


def _row(row: DoseRow, agreed: Agreed | None) -> DoseRow:
    return row if agreed is None else replace(row, limits=tuple(_limits(row, agreed)))


def _limits(row: DoseRow, agreed: Agreed) -> Iterator[Limit]:
    for limit in row.limits:
        if limit.kind is not ProblemKind.NEEDS_VET or limit.below or agreed.needs_vet_above is None:
            yield limit
        elif agreed.needs_vet_above > limit.mg_per_kg_a_day:
            because = f"above what {agreed.vet} has settled for this practice"
            yield replace(limit, mg_per_kg_a_day=agreed.needs_vet_above, because=because, source=agreed.source)
        else:
            yield limit
