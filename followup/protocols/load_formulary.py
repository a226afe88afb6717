"""The formulary that ships, read whole and refused in one sentence when it is wrong."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from functools import cache
from itertools import pairwise
from pathlib import Path

from followup.domain.formulary import (
    Ask,
    DoseRow,
    Formulary,
    Limit,
    Longer,
    Never,
    NotAfter,
    Strengths,
    Works,
)
from followup.domain.reading import Table
from followup.domain.terms import (
    ClinicRoute,
    Formulation,
    HomeRoute,
    Jurisdiction,
    ProblemKind,
    Species,
)
from followup.protocols.places import place
from followup.protocols.refusals import BadProtocol, refuse_in, source_of

SEVERITY = (ProblemKind.WARNING, ProblemKind.NEEDS_VET, ProblemKind.REFUSED)
FILE = Path(__file__).parent / "formulary.toml"


@cache
def formulary() -> Formulary:
    """The formulary that ships."""
    return parse_formulary(FILE.read_text(encoding="utf-8"))


def parse_formulary(text: str, where: str = "formulary.toml") -> Formulary:
    """A formulary from its text. Raises BadProtocol."""
    try:
        tables = place(tomllib.loads(text), text, where)
    except tomllib.TOMLDecodeError as fault:
        raise BadProtocol(f"{where}: is not TOML: {fault}.") from None
    whole = Table(tables, "$", refuse_in(where))
    found = Formulary(
        nsaids=frozenset(whole.texts("nsaids")),
        steroids=frozenset(whole.texts("steroids")),
        rows=tuple(row for each in whole.tables("dose") for row in _rows(each)),
        never=tuple(_never(each) for each in whole.tables("never")),
        not_after=tuple(_not_after(each) for each in whole.tables("not_after")),
        works=tuple(_works(each) for each in whole.tables("works")),
        strengths=tuple(_strengths(each) for each in whole.tables("strength")),
        asks=tuple(_ask(each) for each in whole.tables("ask")),
    )
    whole.done()
    return found


def _needed(table: Table, key: str) -> Decimal:
    return Decimal(str(table.needed_number(key, above=0)))


def _rows(table: Table) -> Iterator[DoseRow]:
    """One row for each species that the table names."""
    species = table.words("species", Species)
    if not species:
        raise table.wrong("species", "names nobody")
    row = _row(table, species[0])
    yield from (replace(row, species=each) for each in species)


def _row(table: Table, species: Species) -> DoseRow:
    found = DoseRow(
        drug=table.text("drug"),
        species=species,
        every_hours=table.decimals("every_hours"),
        source=source_of(table),
        mg_per_kg=table.decimal("mg_per_kg"),
        first_mg_per_kg=table.decimal("first_mg_per_kg"),
        days_in_all=table.whole("days_in_all", least=1),
        limits=tuple(_limit(each) for each in table.tables("limits")),
        longer=tuple(_longer(each) for each in table.tables("longer")),
        least_age_weeks=table.decimal("least_age_weeks"),
        least_weight_g=table.decimal("least_weight_g"),
        off_label=table.yes_no("off_label") or False,
        fresh_needs_vet=table.yes_no("fresh_needs_vet") or False,
        proposed_mg_per_ml=table.decimal("proposed_mg_per_ml"),
        routes=frozenset(table.words("routes", HomeRoute)),
        caution=table.text("caution", ""),
    )
    table.done()
    if not found.every_hours:
        raise table.wrong("every_hours", "is empty")
    if not _in_order(found.limits):
        raise table.wrong("limits", "must rise from warning over needs_vet to refused")
    return found


def _in_order(limits: tuple[Limit, ...]) -> bool:
    """Whether no milder limit lies above a harder one: it would never be seen."""
    above = sorted((each for each in limits if not each.below), key=lambda each: SEVERITY.index(each.kind))
    return all(
        milder.mg_per_kg_a_day < harder.mg_per_kg_a_day
        for milder, harder in pairwise(above)
        if milder.kind is not harder.kind
    )


def _limit(table: Table) -> Limit:
    below = table.has("below")
    found = Limit(
        kind=table.word("kind", ProblemKind),
        mg_per_kg_a_day=_needed(table, "below" if below else "above"),
        because=table.text("because"),
        source=source_of(table),
        first_day=table.decimal("first_day"),
        below=below,
        every_hours=table.decimal("every_hours"),
    )
    table.done()
    return found


def _longer(table: Table) -> Longer:
    found = Longer(
        from_day=table.needed_whole("from_day", least=1),
        kind=table.word("kind", ProblemKind),
        because=table.text("because"),
        source=source_of(table),
    )
    table.done()
    return found


def _never(table: Table) -> Never:
    found = Never(
        drugs=frozenset(table.texts("drugs")),
        species=frozenset(table.words("species", Species)),
        because=table.text("because"),
        source=source_of(table),
        routes=frozenset(table.words("routes", HomeRoute)),
    )
    table.done()
    return found


def _not_after(table: Table) -> NotAfter:
    found = NotAfter(
        drug=table.text("drug"),
        species=frozenset(table.words("species", Species)),
        because=table.text("because"),
        source=source_of(table),
        kind=table.word("kind", ProblemKind),
        from_mg_per_kg=table.decimal("from_mg_per_kg"),
        jurisdictions=frozenset(table.words("jurisdictions", Jurisdiction)),
        routes=frozenset(table.words("routes", ClinicRoute)),
    )
    table.done()
    return found


def _works(table: Table) -> Works:
    found = Works(
        drug=table.text("drug"),
        hours=_needed(table, "hours"),
        source=source_of(table),
        species=frozenset(table.words("species", Species)),
        formulation=table.optional_word("formulation", Formulation) or Formulation.STANDARD,
        from_mg_per_kg=table.decimal("from_mg_per_kg"),
        below_mg_per_kg=table.decimal("below_mg_per_kg"),
    )
    table.done()
    return found


def _strengths(table: Table) -> Strengths:
    found = Strengths(table.text("drug"), frozenset(table.decimals("mg_per_ml")), source_of(table))
    table.done()
    return found


def _ask(table: Table) -> Ask:
    found = Ask(table.text("drug"), table.text("because"), source_of(table))
    table.done()
    return found
