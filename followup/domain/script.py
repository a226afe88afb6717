"""One prescription where it stands: in which case, at which path, against which row."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal

from followup.domain.case import Case, GivenInClinic, Prescription
from followup.domain.compiled import PlannedDose, Problem
from followup.domain.exact import as_written
from followup.domain.formulary import DoseRow, Formulary
from followup.domain.terms import ProblemKind

REFUSED, NEEDS_VET, WARNING = ProblemKind.REFUSED, ProblemKind.NEEDS_VET, ProblemKind.WARNING
MADE_HERE = "clinical defaults, 8"
WRONG_UNIT = "check the unit: mg or microgram, per cent or mg/ml, lb or kg"


@dataclass(frozen=True)
class GoesOn:
    """A course that goes on, changed or not.

    `last`: when a dose may last have been taken at home; None: never. `following`: the planned dose that comes next,
    where neither medicine nor interval has changed; None: the times follow from `last`. `count`: how many doses are to
    come; None: as many as the days ask for.
    """

    last: dt.datetime | None = None
    following: PlannedDose | None = None
    count: int | None = None


@dataclass(frozen=True)
class Script:
    """One prescription where it stands: in which case, at which path, against which row. `goes_on` None: it is new."""

    asked: Prescription
    path: str
    case: Case
    formulary: Formulary
    proposal: bool = False
    goes_on: GoesOn | None = None

    @property
    def row(self) -> DoseRow | None:
        """What the table says of this drug in this species."""
        return self.formulary.row(self.asked.drug, self.case.patient.species)

    @property
    def is_nsaid(self) -> bool:
        """Whether the drug is an NSAID."""
        return self.formulary.is_nsaid(self.asked.drug)

    @property
    def every_hours(self) -> Decimal:
        """The interval as it was written."""
        return as_written(self.asked.every_hours)

    def clinic_doses(self) -> tuple[GivenInClinic, ...]:
        """What the clinic is known to have given of this drug."""
        given = self.case.given_in_clinic or ()
        return tuple(each for each in given if each.drug == self.asked.drug)

    def clinic_gave_or_unknown(self) -> bool:
        """Whether the clinic gave this drug, or nobody knows what it gave."""
        return self.case.given_in_clinic is None or bool(self.clinic_doses())

    def days_behind(self) -> int:
        """Days on which it may have had this drug already: the clinic's, and at home."""
        if self.case.given_in_clinic is None:
            return 1
        return len({self.case.hours.local(each.at).date() for each in self.clinic_doses()})

    def problem(self, kind: ProblemKind, key: str, message: str, source: str = MADE_HERE) -> Problem:
        """A problem at one key of this prescription."""
        path = f"{self.path}.{key}" if key and not self.proposal else self.path
        return Problem(kind, path, message, source)


def last_nsaid_in_clinic(case: Case, formulary: Formulary) -> GivenInClinic | None:
    """The clinic's latest NSAID dose, or None when none is known."""
    given = [each for each in case.given_in_clinic or () if formulary.is_nsaid(each.drug)]
    return max(given, key=lambda each: each.at, default=None)
