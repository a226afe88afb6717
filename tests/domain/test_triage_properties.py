"""What must never fail: time alone has an exact moment, worse answers never lower a level, order does not matter."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from followup.domain.answers import ANSWERS, Question
from followup.domain.observation import Observation
from followup.domain.terms import Level
from followup.domain.triage import findings_at, triage
from tests.domain.triage_cases import recovery, seen, when
from tests.recoveries import guinea_pig, rabbit

MINUTE = dt.timedelta(minutes=1)
ASKED = (Question.APPETITE, Question.FAECES, Question.DEMEANOUR, Question.BREATHING, Question.BELLY, Question.EDGES)
WORSE_IN_ORDER = (
    Question.APPETITE,
    Question.DEMEANOUR,
    Question.BREATHING,
    Question.EDGES,
    Question.BLEEDING,
    Question.INTERFERENCE,
    Question.WORRIED,
)


def level_at(whole, moment: dt.datetime) -> Level:
    return max((each.level for each in findings_at(whole, moment)), default=Level.ON_TRACK)


@pytest.mark.parametrize(
    "observations",
    [
        [],
        [seen("10 18:30", appetite="none")],
        [seen("10 18:30", unsure=["appetite", "faeces"])],
        [seen("10 20:45", appetite="a_few_bites", faeces="none", demeanour="dull")],
        [seen("10 20:45", appetite="normal", faeces="fewer")],
        [seen("10 18:30", appetite="none", ate="10 17:00"), seen("10 20:00", appetite="less")],
    ],
)
def test_the_level_rises_first_at_the_moment_that_was_foretold(observations):
    start = when("10 20:50")
    whole = recovery(guinea_pig(), observations)
    found = triage(whole, start)

    known = whole.until(start)
    brute = next(
        (
            start + minute * MINUTE
            for minute in range(1, 48 * 60)
            if level_at(known, start + minute * MINUTE) > found.level
        ),
        None,
    )
    assert found.look_again_at == brute


def answers() -> st.SearchStrategy[dict[Question, str]]:
    return st.fixed_dictionaries({}, optional={key: st.sampled_from(ANSWERS[key]) for key in ASKED})


def observation(minutes: int, given_answers: dict[Question, str]) -> Observation:
    return Observation(at=when("10 17:00") + minutes * MINUTE, answers=given_answers)


observations = st.lists(st.builds(observation, st.integers(0, 3000), answers()), max_size=4, unique_by=lambda o: o.at)
later = st.integers(0, 4000)


@settings(max_examples=60, deadline=None)
@given(observations, later, st.sampled_from([guinea_pig(), rabbit()]))
def test_any_case_gets_a_verdict_and_the_order_of_the_file_does_not_matter(found, minutes, case):
    now = when("10 17:00") + minutes * MINUTE

    forwards = triage(recovery(case, found), now)
    backwards = triage(recovery(case, found[::-1]), now)
    assert forwards == backwards


@settings(max_examples=80, deadline=None)
@given(observations, st.integers(0, 3000), st.integers(0, 600))
def test_a_later_now_never_lowers_the_level(found, minutes, more):
    """Save for the one picture whose window ends: see the next test."""
    now = when("10 17:00") + minutes * MINUTE
    whole = recovery(guinea_pig(), found)
    lasting = tuple(each for each in whole.rules.pictures if each.code != "bleeding_picture")
    known = replace(whole, rules=replace(whole.rules, pictures=lasting)).until(now)

    assert level_at(known, now + more * MINUTE) >= level_at(known, now)


def test_the_bleeding_picture_ends_two_days_after_surgery_and_its_parts_do_not():
    """Judged at `now` and for the first 48 h, as the defaults say: here a later `now` is milder."""
    known = recovery(guinea_pig(), [seen("10 17:00", belly="swollen", breathing="fast", appetite="normal")])

    assert level_at(known, when("12 10:29")) is Level.EMERGENCY
    bleeding_over = findings_at(known, when("12 10:30"))
    assert {each.rule for each in bleeding_over} >= {"belly_swollen", "fast_breathing"}
    assert max(each.level for each in bleeding_over) is Level.URGENT


@settings(max_examples=80, deadline=None)
@given(observations, st.sampled_from(WORSE_IN_ORDER), later, st.data())
def test_a_worse_answer_never_lowers_the_level(found, question, minutes, data):
    now = when("10 17:00") + minutes * MINUTE
    last = Observation(at=when("10 17:00"))
    ordered = [each for each in ANSWERS[question] if each != "not_checked"]
    mild = data.draw(st.integers(0, len(ordered) - 1))
    worse = data.draw(st.integers(mild, len(ordered) - 1))
    better_case = recovery(guinea_pig(), [*found, replace(last, answers={question: ordered[mild]})])
    worse_case = recovery(guinea_pig(), [*found, replace(last, answers={question: ordered[worse]})])

    assert level_at(worse_case.until(now), now) >= level_at(better_case.until(now), now)


@settings(max_examples=40, deadline=None)
@given(observations, later, st.integers(600, 900), st.integers(0, 300))
def test_a_lower_weight_never_lowers_the_level(found, minutes, grams, less):
    now = when("10 17:00") + minutes * MINUTE
    heavy = recovery(guinea_pig(), [*found, Observation(at=when("10 17:00"), weight_g=grams)])
    light = recovery(guinea_pig(), [*found, Observation(at=when("10 17:00"), weight_g=grams - less)])

    assert level_at(light.until(now), now) >= level_at(heavy.until(now), now)


@pytest.mark.parametrize(
    "red", [{"demeanour": "collapsed"}, {"breathing": "laboured"}, {"wound_edges": "tissue_showing"}]
)
def test_one_red_answer_is_never_averaged_away(red):
    good: dict[str, Any] = {
        "appetite": "normal",
        "faeces": "normal",
        "urine": "normal",
        "worried": "no",
        "drinking": "normal",
    }

    assert triage(recovery(guinea_pig(), [seen("10 20:45", **good, **red)]), when("10 20:45")).level is Level.EMERGENCY
