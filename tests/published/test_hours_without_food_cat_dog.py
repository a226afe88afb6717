"""Twenty-four and forty-eight hours without food, cat and dog, at the value itself; half as long under three months.

Source (P): about 12 discharge sheets for owners of cats and dogs: call when nothing has been eaten for 24 h after
surgery. 48 h as the emergency, and the halves for the very young, are derived (D).
"""

from __future__ import annotations

import datetime as dt

import pytest

from followup.domain.answers import Question
from followup.domain.observation import Observation, Told
from followup.domain.terms import Procedure, Sign, Species
from followup.domain.triage import triage
from tests.domain.every_case import case_of
from tests.domain.triage_cases import recovery

HOUR, MINUTE = dt.timedelta(hours=1), dt.timedelta(minutes=1)


def level_after(species: Species, span: dt.timedelta, age_months: float | None) -> str:
    """The level from hours without food alone; last meal told exactly, two days after surgery."""
    case = case_of(species, Procedure.SPAY, age_months=age_months)
    last_ate = case.surgery_ended_at + 48 * HOUR
    seen = Observation(
        at=last_ate + span,
        answers={Question.APPETITE: "none", Question.FAECES: "normal"},
        told={Sign.FOOD: Told.exactly(last_ate)},
    )
    found = triage(recovery(case, [seen]), seen.at)
    return next((each.level.word for each in found.findings if each.rule == "hours_without_food"), "nothing")


@pytest.mark.parametrize("species", [Species.CAT, Species.DOG])
@pytest.mark.parametrize(
    ("age_months", "urgent", "emergency"),
    [(None, 24, 48), (3, 24, 48), (2.9, 12, 24)],
)
def test_a_day_and_two(species, age_months, urgent, emergency):
    def level(span: dt.timedelta) -> str:
        return level_after(species, span, age_months)

    assert level(urgent * HOUR - MINUTE) == "nothing"
    assert level(urgent * HOUR) == "urgent"
    assert level(emergency * HOUR - MINUTE) == "urgent"
    assert level(emergency * HOUR) == "emergency"
