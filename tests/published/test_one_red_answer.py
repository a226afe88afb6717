"""One red answer is never averaged away: any number of good answers added to it leave it red.

Source (P): NEWS2, Royal College of Physicians 2017: a score of 3 in a single parameter calls for a person whatever the
sum. Which answers are red is this program's (clinical defaults, 4).
"""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from followup.domain.answers import ANSWERS, Question
from followup.domain.observation import Observation
from followup.domain.terms import Level, Procedure, Species
from followup.domain.triage import triage
from tests.domain.every_case import case_of
from tests.domain.triage_cases import recovery
from tests.examples import examples

RED = [
    (Question.DEMEANOUR, "collapsed"),
    (Question.BREATHING, "laboured"),
    (Question.GUMS, "pale"),
    (Question.GUMS, "blue"),
    (Question.SEIZURE, "yes"),
    (Question.BALANCE, "rolling"),
    (Question.URINE, "straining"),
    (Question.EDGES, "gaping"),
    (Question.EDGES, "tissue_showing"),
    (Question.BLEEDING, "steady_drip"),
    (Question.REAR_END, "maggots_or_eggs"),
]
GOOD = {question: answers[0] for question, answers in ANSWERS.items() if question is not Question.COLLAR}


@pytest.mark.parametrize("red", RED, ids=lambda red: f"{red[0]}={red[1]}")
@settings(max_examples=examples(12), deadline=None)
@given(
    species=st.sampled_from(list(Species)),
    good=st.sets(st.sampled_from(list(GOOD))),
    hours=st.integers(7, 300),
    better_since=st.integers(0, 4),
)
def test_any_number_of_good_answers_beside_one_red_one(red, species, good, hours, better_since):
    case = case_of(species, Procedure.SPAY)
    at = case.surgery_ended_at + dt.timedelta(hours=hours)
    question, answer = red
    others = {each: GOOD[each] for each in good if each is not question}
    looks = [Observation(at=at, answers={question: answer, **others})]
    looks += [Observation(at=at + dt.timedelta(hours=n + 1), answers=others) for n in range(better_since)]

    assert triage(recovery(case, looks), at + dt.timedelta(hours=better_since)).level is Level.EMERGENCY
