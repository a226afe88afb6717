"""What is proposed where nobody has prescribed.

A proposal is never printed or reminded until a vet confirms it.
"""

from __future__ import annotations

from followup.domain.case import Case, Prescription
from followup.domain.compiled import Problem
from followup.domain.formulary import DoseRow, Formulary
from followup.domain.medicines import Prescribed, prescribe
from followup.domain.script import (
    MADE_HERE,
    NEEDS_VET,
    REFUSED,
    WARNING,
    Script,
    last_nsaid_in_clinic,
)

PATH = "$.home_medication"


def propose(case: Case, formulary: Formulary) -> tuple[Prescribed | None, tuple[Problem, ...]]:
    """The table's course at home, or none with the reason."""
    row = formulary.proposal(case.patient.species)
    last = last_nsaid_in_clinic(case, formulary)
    if row is None:
        return None, (_no_proposal("no course is known for this species"),)
    if last is not None and last.drug != row.drug:
        return None, (_no_proposal(f"the clinic gave {last.drug}"),)
    return _proposed(row, case, formulary)


def _proposed(row: DoseRow, case: Case, formulary: Formulary) -> tuple[Prescribed | None, tuple[Problem, ...]]:
    asked = _course(row, case, formulary)
    if asked is None:
        return None, (_no_proposal("the clinic's dose was the whole course"),)
    found = prescribe(Script(asked, PATH, case, formulary, proposal=True))
    refusals = [problem.message for problem in found.problems if problem.kind is REFUSED]
    if refusals:
        return None, (_no_proposal(refusals[0]),)
    return found, (
        Problem(
            NEEDS_VET,
            PATH,
            f"Nobody has prescribed. {row.drug} is a proposal that a named vet must confirm.",
            row.source.text,
        ),
    )


def _course(row: DoseRow, case: Case, formulary: Formulary) -> Prescription | None:
    """The row as a prescription: its days less the clinic's, which is the first of the course."""
    unknown_or_given = case.given_in_clinic is None or last_nsaid_in_clinic(case, formulary) is not None
    days = (row.days_in_all or 1) - (1 if unknown_or_given else 0)
    if days < 1 or row.mg_per_kg is None or row.proposed_mg_per_ml is None:
        return None
    loading = row.first_mg_per_kg if not unknown_or_given else None
    return Prescription(
        drug=row.drug,
        every_hours=float(row.every_hours[0]),
        days=days,
        mg_per_kg=float(row.mg_per_kg),
        first_mg_per_kg=None if loading is None else float(loading),
        mg_per_ml=float(row.proposed_mg_per_ml),
    )


def in_force(case: Case, formulary: Formulary) -> tuple[Prescription, ...]:
    """What goes home: as prescribed, or the proposal that a vet made his own by confirming it."""
    if case.home_medication is not None:
        return case.home_medication
    row = formulary.proposal(case.patient.species)
    asked = _course(row, case, formulary) if row is not None else None
    return () if asked is None else (asked,)


def _no_proposal(because: str) -> Problem:
    return Problem(WARNING, PATH, f"No medicine is proposed: {because}.", MADE_HERE)
