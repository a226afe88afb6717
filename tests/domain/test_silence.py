"""Silence, row by row of section 5, for a small herbivore on the owner's clock."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Any

import pytest

from followup.domain.case import VetSaid
from followup.domain.hours import OwnerHours
from followup.domain.observation import Observation
from followup.domain.recovery import Recovery
from followup.domain.silence import heard_state, unanswered
from followup.domain.terms import Concern, Level, Observer
from followup.domain.triage import triage
from tests.domain.triage_cases import recovery, seen, verdict, when
from tests.recoveries import LONDON, guinea_pig

PIG = guinea_pig()
FINE: dict[str, Any] = {"appetite": "normal", "faeces": "normal", "demeanour": "bright"}
FIRST_EVENING = [seen("10 18:40", **FINE), seen("10 20:50", **FINE)]


def silence(found) -> str:
    return max((each.level for each in found.findings if each.concern is Concern.SILENCE), default=Level.ON_TRACK).word


@pytest.mark.parametrize(
    ("observations", "now", "level", "state"),
    [
        ([], "10 18:00", "on_track", "heard"),
        ([], "10 18:30", "on_track", "waiting"),
        ([], "10 21:59", "on_track", "waiting"),
        ([], "10 22:00", "urgent", "waiting"),
        (FIRST_EVENING, "11 09:59", "on_track", "waiting"),
        (FIRST_EVENING, "11 10:00", "urgent", "waiting"),
        ([*FIRST_EVENING, seen("11 07:30", **FINE)], "11 22:29", "on_track", "waiting"),
        ([*FIRST_EVENING, seen("11 07:30", **FINE)], "12 06:59", "on_track", "waiting"),
        ([*FIRST_EVENING, seen("11 07:30", **FINE)], "12 07:00", "monitor", "not_heard_from"),
        ([*FIRST_EVENING, seen("11 07:30", **FINE)], "12 11:30", "urgent", "not_heard_from"),
        (
            [*FIRST_EVENING, seen("11 07:30", demeanour="collapsed", appetite="normal")],
            "12 07:00",
            "urgent",
            "not_heard_from",
        ),
    ],
)
def test_each_row(observations, now, level, state):
    found = verdict(PIG, observations, now)

    assert silence(found) == level
    assert found.heard.state.value == state


def test_an_hour_early_answers_and_earlier_does_not():
    assert not unanswered(recovery(PIG, [seen("10 17:30", **FINE)]), when("10 18:30"))
    assert unanswered(recovery(PIG, [seen("10 17:29", **FINE)]), when("10 18:30"))


def test_a_call_by_staff_spares_the_next_six_hours():
    call = replace(seen("10 17:00", **FINE), by=Observer.STAFF)

    assert not unanswered(recovery(PIG, [call]), when("10 20:45"))


def test_a_dose_a_weight_or_words_are_heard_but_answer_nothing():
    words = [replace(seen("10 18:40", weight=890), text="he is fine I think")]

    found = verdict(PIG, words, "10 22:00")
    assert silence(found) == "urgent"
    assert found.signals.since_last_heard == when("10 22:00") - when("10 18:40")


def test_not_sure_about_eating_answers():
    assert heard_state(recovery(PIG, [seen("10 20:45", unsure=["appetite"])]), when("10 21:00")).state.value == "heard"


def test_what_could_not_be_asked_says_so():
    whole = recovery(PIG, [*FIRST_EVENING, seen("11 07:30", **FINE)])
    evening = next(each.at for each in whole.check_ins if each.at > when("11 12:00"))

    found = triage(replace(whole, unasked=frozenset({evening})), when("12 07:00"))

    assert "could not be asked" in next(each.because for each in found.findings if each.concern is Concern.SILENCE)


def test_a_vets_word_holds_what_time_gives_but_not_a_worse_answer():
    said = VetSaid(at=when("10 21:10"), look_again_at=when("11 09:00"))
    case = replace(PIG, vet_said=(said,))
    bites = [seen("10 20:45", appetite="a_few_bites", ate="10 15:00", faeces="normal", demeanour="bright")]
    spoken = recovery(case, bites)

    assert triage(spoken, when("10 23:30")).level <= triage(spoken, when("10 21:10")).level
    worse: list[Observation] = [*bites, seen("10 21:40", appetite="none", demeanour="collapsed")]
    assert triage(recovery(case, worse), when("10 21:40")).level is Level.EMERGENCY


def test_under_a_night_plan_the_clock_may_pass_its_limit_asleep_but_not_after_waking():
    card = replace(PIG.discharge, night_plan=True)
    told = [seen("10 20:45", appetite="none", ate="10 15:00", faeces="normal", demeanour="bright")]
    night: Recovery = recovery(replace(PIG, discharge=card), told)

    assert triage(night, when("10 22:00")).level is Level.URGENT
    assert triage(night, when("11 05:00")).level is Level.URGENT
    assert triage(night, when("11 07:30")).level is Level.EMERGENCY


def test_before_the_hour_of_the_call_the_first_morning_is_on_the_list_alone():
    """An early riser is asked at 05:00 and could answer until 09:00; the call is due at 10:00, good answer or not."""
    early = guinea_pig(hours=OwnerHours(LONDON, dt.time(4, 30), dt.time(22)))
    bad = [seen("10 18:40", **FINE), seen("10 20:50", **{**FINE, "demeanour": "collapsed"})]

    assert [silence(verdict(early, bad, f"11 {clock}")) for clock in ("08:59", "09:00", "09:59", "10:00")] == [
        "on_track",
        "monitor",
        "monitor",
        "urgent",
    ]
