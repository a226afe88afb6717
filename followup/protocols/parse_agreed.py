"""What a named vet has settled for a practice, from the tables of its protocol."""

from __future__ import annotations

from followup.domain.agreed import Agreed
from followup.domain.formulary import DoseRow
from followup.domain.limits import hard_limit_of
from followup.domain.reading import Table
from followup.domain.terms import ProblemKind, Species
from followup.protocols.load_formulary import formulary
from followup.protocols.refusals import source_of


def parse_agreed(table: Table, species: Species) -> Agreed:
    """One `[[agreed]]` table: raises the refusal that it carries."""
    found = Agreed(
        drug=table.text("drug"),
        vet=table.text("vet"),
        source=source_of(table),
        needs_vet_above=table.decimal("needs_vet_above"),
    )
    table.done()
    if not found.vet.strip():
        raise table.wrong("vet", "must name the vet")
    row = formulary().row(found.drug, species)
    if row is not None:
        _refuse_order(table, row, found)
    return found


def _refuse_order(table: Table, row: DoseRow, found: Agreed) -> None:
    """Of a drug with a row the limit lies above the table's own and below the one that refuses."""
    least = min((each.mg_per_kg_a_day for each in row.limits if each.kind is ProblemKind.NEEDS_VET), default=None)
    most, above = hard_limit_of(row), found.needs_vet_above
    if least is None or above is None or above <= least:
        raise table.wrong("needs_vet_above", "must be more than the table's own limit")
    if most is not None and above >= most:
        raise table.wrong("needs_vet_above", f"must be less than {most:f}, which is refused")
