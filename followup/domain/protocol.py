"""What plans are compiled from: one protocol per species and procedure, versioned, with rules and a course."""

from __future__ import annotations

from dataclasses import dataclass

from followup.domain.agreed import Agreed
from followup.domain.course import Course
from followup.domain.rules import Rules
from followup.domain.terms import Procedure, Species


@dataclass(frozen=True)
class Protocol:
    """`name` is species and procedure; a plan keeps the version that it was compiled from.

    `agreed`: what a named vet of the practice has settled for all its plans.
    """

    name: str
    version: int
    species: Species
    procedure: Procedure
    title: str
    rules: Rules
    course: Course
    agreed: tuple[Agreed, ...] = ()

    @property
    def pinned(self) -> str:
        """`name@version`, as plans and verdicts carry it."""
        return f"{self.name}@{self.version}"
