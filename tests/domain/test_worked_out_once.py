"""What is worked out once and kept gives the same as working it out anew at every moment, in any order."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from followup.domain.answers import Question
from followup.domain.case import VetSaid
from followup.domain.recovery import CONTRADICTORY_WITHIN, NOT_AN_ANSWER, Recovery, Release, Reviewed, Seen
from followup.domain.terms import Concern, Sign
from followup.domain.triage import findings_at, signals_of, triage
from tests.domain.any_recovery import moments, recoveries
from tests.domain.triage_cases import recovery, seen, when
from tests.recoveries import guinea_pig


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_one_recovery_looked_at_often_says_what_a_fresh_one_says(data):
    whole = data.draw(recoveries())
    known = whole.until(data.draw(moments(whole)))
    at = data.draw(st.lists(moments(whole), min_size=2, max_size=6))

    for now in at:  # in any order of time
        fresh = replace(known)
        assert fresh.worked_out == {}
        assert findings_at(known, now) == findings_at(fresh, now)
        assert signals_of(known, now) == signals_of(replace(known), now)


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_a_verdict_after_others_is_the_verdict_alone(data):
    whole = data.draw(recoveries())
    at = data.draw(st.lists(moments(whole), min_size=2, max_size=4))

    together = [triage(whole, now) for now in at]
    assert together == [triage(replace(whole), now) for now in at]


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_answers_by_question_are_those_of_the_observations(data):
    whole = data.draw(recoveries())

    for question in Question:
        told = [Seen(answer, one.at) for one in whole.observations if (answer := one.answer(question)) is not None]
        counted = tuple(each for each in told if each.answer != NOT_AN_ANSWER)
        assert whole.answers_to(question) == counted
        close = [each for each in counted if counted[-1].at - each.at <= CONTRADICTORY_WITHIN]
        assert whole.standing(question) == tuple(close)


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_what_was_known_then_leaves_out_all_that_came_later(data):
    whole = data.draw(recoveries())
    now = data.draw(moments(whole))
    known = whole.until(now)

    assert known.observations == tuple(one for one in whole.observations if one.at <= now)
    assert known.case.vet_said == tuple(said for said in whole.case.vet_said if said.at <= now)
    assert known.until(now) is known


def test_each_thing_that_came_later_is_left_out_when_it_alone_did():
    then, later = when("10 20:00"), when("10 21:00")
    whole = recovery(guinea_pig())
    said = replace(whole.case, vet_said=(VetSaid(later, when("11 08:00")),))
    for more in (
        replace(whole, observations=(seen("10 21:00", appetite="none"),)),
        replace(whole, releases=(Release("meloxicam", later),)),
        replace(whole, reviews=(Reviewed(Concern.EATING, later),)),
        replace(whole, case=said),
    ):
        assert more != whole
        assert more.until(then) == whole
        assert more.until(later) == more


def test_what_is_worked_out_is_no_fact():
    one, other = Recovery.of(**_facts()), Recovery.of(**_facts())
    one.worked_out[Sign.FOOD] = "anything"

    assert one == other
    assert "anything" not in repr(one)


def _facts():
    whole = recovery(guinea_pig())
    return {"case": whole.case, "rules": whole.rules, "pinned": whole.pinned, "vocabulary": whole.vocabulary,
            "check_ins": whole.check_ins, "medication": whole.medication, "observations": ()}  # fmt: skip
