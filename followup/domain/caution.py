"""What stands wherever a dose or a level is printed for staff."""

from __future__ import annotations

CAUTION = (
    "Decision support, not a substitute for the treating vet: it does not replace an examination, and local rules come "
    "first. An owner who is worried phones the practice, or out of hours the provider's number, and does not wait."
)
