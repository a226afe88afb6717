"""How much was given as planned. A dose of which nobody told is neither given nor missed."""

from __future__ import annotations

from followup.domain.adherence import Adherence, DoseSoFar, adherence
from followup.domain.terms import DoseOutcome
from tests.domain.triage_cases import when

NOW = when("12 12:00")


def dose(until: str, outcome: str | None, drug: str = "meloxicam") -> DoseSoFar:
    return DoseSoFar(drug, when(until), DoseOutcome(outcome) if outcome else None)


def test_doses_that_are_over_or_told_of_count():
    doses = [
        dose("11 22:00", "given"),
        dose("12 12:00", None),  # its time is just over
        dose("12 12:01", None),  # still open
        dose("13 22:00", "refused"),  # told of early
    ]
    assert adherence(doses, NOW) == (Adherence("meloxicam", 3, 1, ((DoseOutcome.REFUSED, 1),), 1),)


def test_each_drug_by_itself_in_the_order_of_its_doses():
    doses = [dose("11 22:00", "given", "b"), dose("11 22:00", "missed", "a"), dose("11 23:00", "missed", "a")]
    found = adherence(doses, NOW)
    assert [(each.drug, each.due, each.given) for each in found] == [("b", 1, 1), ("a", 2, 0)]
    assert found[1].not_given == ((DoseOutcome.MISSED, 2),)


def test_nothing_is_over_yet():
    assert adherence([dose("12 13:00", None)], NOW) == ()
