"""What is known of each medicine: doses, limits, what is never given, how long it works.

All amounts are mg per kg of body weight; limits are per day (clinical defaults, 8).
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from followup.domain.sources import Source
from followup.domain.terms import (
    ClinicRoute,
    Formulation,
    HomeRoute,
    Jurisdiction,
    ProblemKind,
    Species,
)


@dataclass(frozen=True)
class Limit:
    """A day's amount that `kind` follows above (or `below`).

    `first_day`: the higher limit of a loading day.
    `every_hours`: the limit holds only for that interval; None: for all.
    """

    kind: ProblemKind
    mg_per_kg_a_day: Decimal
    because: str
    source: Source
    first_day: Decimal | None = None
    below: bool = False
    every_hours: Decimal | None = None


@dataclass(frozen=True)
class Longer:
    """What follows when the course runs to `from_day` days or more, the clinic's counted."""

    from_day: int
    kind: ProblemKind
    because: str
    source: Source


@dataclass(frozen=True)
class DoseRow:
    """One drug in one species.

    `every_hours`: the usual interval first, then others that are allowed. `routes`: the usual ones; empty: any.
    `caution`: what whoever gives it must know, whatever the amount.
    `days_in_all` counts the clinic's dose. `fresh_needs_vet`: where the clinic gave nothing.
    `proposed_mg_per_ml`: the strength of a proposal;
    None: never proposed.
    """

    drug: str
    species: Species
    every_hours: tuple[Decimal, ...]
    source: Source
    mg_per_kg: Decimal | None = None
    first_mg_per_kg: Decimal | None = None
    days_in_all: int | None = None
    limits: tuple[Limit, ...] = ()
    longer: tuple[Longer, ...] = ()
    least_age_weeks: Decimal | None = None
    least_weight_g: Decimal | None = None
    off_label: bool = False
    fresh_needs_vet: bool = False
    proposed_mg_per_ml: Decimal | None = None
    routes: frozenset[HomeRoute] = frozenset()
    caution: str = ""


@dataclass(frozen=True)
class Never:
    """Drugs that are refused in `species` by `routes` (empty: by any)."""

    drugs: frozenset[str]
    species: frozenset[Species]
    because: str
    source: Source
    routes: frozenset[HomeRoute] = frozenset()


@dataclass(frozen=True)
class NotAfter:
    """No NSAID by mouth at home after this was given in the clinic. Empty sets: whatever it was."""

    drug: str
    species: frozenset[Species]
    because: str
    source: Source
    kind: ProblemKind
    from_mg_per_kg: Decimal | None = None
    jurisdictions: frozenset[Jurisdiction] = frozenset()
    routes: frozenset[ClinicRoute] = frozenset()


@dataclass(frozen=True)
class Works:
    """For how many hours a drug works at least.

    Of several that fit, those that name the species count, and of these the shortest.
    `from_mg_per_kg`, `below_mg_per_kg`: only from that amount on, only below it. Empty species:
    all.
    """

    drug: str
    hours: Decimal
    source: Source
    species: frozenset[Species] = frozenset()
    formulation: Formulation = Formulation.STANDARD
    from_mg_per_kg: Decimal | None = None
    below_mg_per_kg: Decimal | None = None


@dataclass(frozen=True)
class Strengths:
    """The strengths in mg/ml that are usual for a drug that goes home as a liquid."""

    drug: str
    mg_per_ml: frozenset[Decimal]
    source: Source


@dataclass(frozen=True)
class Ask:
    """A drug that always needs a vet's word, in any species."""

    drug: str
    because: str
    source: Source


@dataclass(frozen=True)
class Formulary:
    """Everything known of medicines, whole. `settled`: drugs that a vet of the practice has settled once for all."""

    nsaids: frozenset[str]
    steroids: frozenset[str] = frozenset()
    rows: tuple[DoseRow, ...] = ()
    never: tuple[Never, ...] = ()
    not_after: tuple[NotAfter, ...] = ()
    works: tuple[Works, ...] = ()
    strengths: tuple[Strengths, ...] = ()
    asks: tuple[Ask, ...] = ()
    settled: frozenset[str] = frozenset()

    def is_nsaid(self, drug: str) -> bool:
        """Whether `drug` is a non-steroidal anti-inflammatory."""
        return drug in self.nsaids

    def is_steroid(self, drug: str) -> bool:
        """Whether `drug` is a corticosteroid."""
        return drug in self.steroids

    def row(self, drug: str, species: Species) -> DoseRow | None:
        """The usual doses of `drug` in `species`, or None when the table has none."""
        found = (row for row in self.rows if row.drug == drug and row.species is species)
        return next(found, None)

    def proposal(self, species: Species) -> DoseRow | None:
        """The row that is proposed where nobody prescribed."""
        found = (row for row in self.rows if row.species is species and row.proposed_mg_per_ml)
        return next(found, None)
