"""What must never lower a level, over any recovery: a worse answer, a later now, less weight, a good answer taken away.

Source: clinical defaults, 4, "Worse means".
"""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from followup.domain.answers import Question
from followup.domain.recovery import Recovery
from followup.domain.terms import Level
from followup.domain.triage import findings_at, triage
from tests.domain.any_recovery import every_worse, moments, recoveries
from tests.examples import examples

GOOD = (Question.APPETITE, Question.FAECES, Question.URINE)
"""What stops a clock. Only "normal" gives no level of its own."""


def level_at(whole: Recovery, moment: dt.datetime) -> Level:
    return max((each.level for each in findings_at(whole.until(moment), moment)), default=Level.ON_TRACK)


def with_look(whole: Recovery, index: int, seen) -> Recovery:
    looks = (*whole.observations[:index], seen, *whole.observations[index + 1 :])
    return replace(whole, observations=looks)


@settings(max_examples=examples(60), deadline=None)
@given(st.data())
def test_a_worse_answer(data):
    whole = data.draw(recoveries())
    now = data.draw(moments(whole))
    before = level_at(whole, now)
    for index, seen in enumerate(whole.observations):
        for what, worse in every_worse(whole.case, seen):
            assert level_at(with_look(whole, index, worse), now) >= before, what


@settings(max_examples=examples(60), deadline=None)
@given(st.data())
def test_a_later_now(data):
    """Save for the one picture whose window ends, see test_triage_properties."""
    whole = data.draw(recoveries())
    lasting = tuple(each for each in whole.rules.pictures if each.code != "bleeding_picture")
    whole = replace(whole, rules=replace(whole.rules, pictures=lasting))
    now = data.draw(moments(whole))
    known = whole.until(now)
    later = now + data.draw(st.integers(1, 3000)) * dt.timedelta(minutes=1)

    assert level_at(known, later) >= level_at(known, now)


@settings(max_examples=examples(60), deadline=None)
@given(st.data())
def test_a_good_answer_taken_away(data):
    """Its silence is kept: the look at the animal stays, and the answer in it is gone."""
    whole = data.draw(recoveries())
    now = data.draw(moments(whole))
    before = level_at(whole, now)
    for index, seen in enumerate(whole.observations):
        for question in GOOD:
            if seen.answers.get(question) == "normal":
                left = {key: value for key, value in seen.answers.items() if key is not question}
                assert level_at(with_look(whole, index, replace(seen, answers=left)), now) >= before, question


@settings(max_examples=examples(60), deadline=None)
@given(st.data())
def test_any_recovery_gets_a_verdict_whatever_the_order_of_its_looks(data):
    whole = data.draw(recoveries())
    now = data.draw(moments(whole))
    mixed = data.draw(st.permutations(whole.observations))
    again = Recovery.of(
        case=whole.case,
        rules=whole.rules,
        pinned=whole.pinned,
        vocabulary=whole.vocabulary,
        check_ins=whole.check_ins,
        medication=whole.medication,
        observations=mixed,
    )

    assert triage(again, now) == triage(whole, now)
