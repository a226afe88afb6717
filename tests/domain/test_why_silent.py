"""Why nothing was heard: only "was not well" is weighed, as a worry. Evidence, C-10; clinical defaults, 4."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from followup.domain.observation import Observation
from followup.domain.recovery import Recovery, Reviewed
from followup.domain.terms import Concern
from followup.domain.triage import triage
from followup.domain.why_silent import Why, WhySilent, why_of, with_words
from tests.domain.triage_cases import recovery, seen, when
from tests.recoveries import guinea_pig

PIG = guinea_pig()
FINE: dict[str, Any] = {"appetite": "normal", "faeces": "normal", "demeanour": "bright"}
FIRST_EVENING = [seen("10 18:40", **FINE), seen("10 20:50", **FINE)]


def with_reason(why: Why, text: str = "11 12:00", *observations: Observation) -> Recovery:
    told = WhySilent(why, when(text), "She slept all day" if why is Why.UNWELL else "")
    return replace(recovery(PIG, [*FIRST_EVENING, *observations]), why_silent=(told,))


@pytest.mark.parametrize(("why", "level"), [(Why.FORGOT, 0), (Why.NO_SIGNAL, 0), (Why.OTHER, 0), (Why.UNWELL, 1)])
def test_only_not_well_raises_and_it_is_a_worry(why, level):
    found = triage(with_reason(why, "11 08:00", seen("11 07:59", **FINE, worried="no")), when("11 08:01"))

    assert found.level == level
    assert [each.because for each in found.findings if each.concern is Concern.WORRY] == (
        ["while we heard nothing, the animal was not well: “She slept all day”"] if level else []
    )


def test_not_well_stands_until_the_worry_is_asked_about_anew():
    def worry(*observations: Observation) -> bool:
        found = triage(with_reason(Why.UNWELL, "11 08:00", *observations), when("11 19:00"))
        return any(each.concern is Concern.WORRY for each in found.findings)

    assert worry(seen("11 07:59", **FINE, worried="no"))
    assert worry(seen("11 18:30", **FINE))
    assert not worry(seen("11 18:30", **FINE, worried="no"))


def test_told_on_the_phone_with_a_worry_at_the_same_moment_it_stands():
    told = with_reason(Why.UNWELL, "11 08:00", seen("11 08:00", **FINE, worried="no"))

    assert any(each.rule == "silent_because_unwell" for each in triage(told, when("11 08:00")).findings)


@pytest.mark.parametrize(("concern", "looked", "stands"), [
    (Concern.WORRY, "11 08:30", False), (Concern.WORRY, "11 07:30", True), (Concern.SILENCE, "11 08:30", True),
])  # fmt: skip
def test_it_stands_until_a_person_has_looked(concern, looked, stands):
    told = replace(with_reason(Why.UNWELL, "11 08:00"), reviews=(Reviewed(concern, when(looked)),))

    found = triage(told, when("11 09:00")).findings
    assert any(each.rule == "silent_because_unwell" for each in found) is stands


def test_a_reason_is_not_known_before_it_was_given():
    assert triage(with_reason(Why.UNWELL, "11 12:00"), when("11 09:00")).findings == ()


@pytest.mark.parametrize(
    ("chosen", "typed", "values"),
    [
        (["forgot"], "", ["forgot"]),
        (["unwell"], "slept", ["unwell", "slept"]),
        ([], "at work", ["other", "at work"]),
        ([], "", []),
    ],
)
def test_words_beside_a_reason(chosen, typed, values):
    assert with_words(chosen, typed) == values


def test_a_reason_left_out_is_none():
    now = when("11 12:00")
    assert why_of(["skipped"], now) is None
    assert why_of([], now) is None
    assert why_of(["other", " at work "], now) == WhySilent(Why.OTHER, now, "at work")
