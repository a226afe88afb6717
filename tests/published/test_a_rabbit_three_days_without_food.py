"""A published case: a rabbit, castrated six days earlier, with three days of anorexia and no droppings; its owner had
noticed the fall for days.

Source (P): Bean 2022, Clinician's Brief, January/February 2022. The signs are the published ones; hours, weights and
everything else in the case are ours.
"""

from __future__ import annotations

import datetime as dt

from followup.domain.answers import Question
from followup.domain.observation import Observation, Told
from followup.domain.terms import Level, Procedure, Sign, Species
from followup.domain.triage import triage
from tests.domain.every_case import case_of
from tests.domain.triage_cases import recovery

DAY, HOUR = dt.timedelta(days=1), dt.timedelta(hours=1)
BUCK = case_of(Species.RABBIT, Procedure.CASTRATION)
SEEN = BUCK.surgery_ended_at + 6 * DAY
FALLING = [
    Observation(at=SEEN - 4 * DAY, answers={Question.APPETITE: "less", Question.FAECES: "fewer"}),
    Observation(at=SEEN - 3 * DAY, answers={Question.APPETITE: "a_few_bites", Question.FAECES: "fewer"}),
]
TOLD = Observation(
    at=SEEN,
    answers={Question.APPETITE: "none", Question.FAECES: "none"},
    told={Sign.FOOD: Told.exactly(SEEN - 3 * DAY), Sign.FAECES: Told.exactly(SEEN - 3 * DAY)},
)


def test_three_days_without_food_and_droppings_are_an_emergency():
    found = triage(recovery(BUCK, [*FALLING, TOLD]), SEEN)

    assert found.level is Level.EMERGENCY
    red = {each.rule: each.certainty.value for each in found.findings if each.level is Level.EMERGENCY}
    assert red == {"hours_without_food": "certain", "hours_without_meal": "certain", "hours_without_faeces": "certain"}


def test_the_fall_that_its_owner_noticed_would_have_called_a_person_days_before():
    """Eating less and fewer droppings four days before, asked on day 2: urgent from 48 h, so within the day."""
    first = triage(recovery(BUCK, FALLING[:1]), SEEN - 4 * DAY)

    assert first.level is Level.URGENT
    assert {"eats_less", "droppings_fewer"} <= {each.rule for each in first.findings if each.level is Level.URGENT}


def test_without_a_word_for_those_days_silence_alone_calls_a_person():
    assert triage(recovery(BUCK, FALLING[:1]), SEEN - 2 * DAY).level is Level.URGENT
