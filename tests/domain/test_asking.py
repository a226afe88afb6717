"""When a running clock is asked about again; what day 14 asks; closed lists of words. Clinical defaults, 7 and 8."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from followup.domain.terms import CheckInKind, Outcome
from followup.protocols.load_formulary import formulary
from tests.domain.triage_cases import clock, seen, verdict
from tests.recoveries import at, guinea_pig, plan_of

PIG = guinea_pig(home_medication=())
NOTHING: dict[str, Any] = {"appetite": "none", "faeces": "normal"}


def asks(observations, now: str) -> tuple[str | None, tuple[str, ...]]:
    found = verdict(PIG, observations, now).ask
    return (clock(found.at), found.questions) if found is not None else (None, ())


def test_a_running_clock_is_asked_about_at_bedtime_and_on_waking():
    """Day 3 has one check-in, at 18:30: bedtime at 20:45 and waking at 07:30 are asked because of the clock."""
    evening = seen("13 18:31", ate="13 18:00", **NOTHING)
    assert asks([evening], "13 18:31") == ("13 20:45", ("appetite", "last_ate_at"))
    bedtime = seen("13 20:46", ate="13 20:30", **NOTHING)
    when_next, keys = asks([evening, bedtime], "13 20:46")
    assert (when_next, keys) == ("14 07:00", ("appetite", "last_ate_at"))
    well = seen("13 20:46", appetite="normal", faeces="normal")
    assert asks([evening, well], "13 20:46") == (None, ())


def test_never_sooner_than_an_hour_after_the_answer():
    """6 h without food come at 14:00; half an hour before is 13:30, but an answer of 12:50 is not an hour old then."""
    at_noon = seen("11 12:00", ate="11 08:00", **NOTHING)
    assert asks([at_noon], "11 12:00")[0] == "11 13:30"
    later = seen("11 12:50", ate="11 08:00", **NOTHING)
    assert asks([later], "11 12:50")[0] == "11 13:50"
    too_late = seen("11 13:10", ate="11 08:00", **NOTHING)  # an hour on, it has risen already
    assert asks([too_late], "11 13:10") == (None, ())  # the check-in at 18:30 asks


def test_the_question_of_day_14_is_no_silence():
    case = replace(PIG, discharged_at=at("2025-03-10 16:30"))
    assert [each.kind for each in plan_of(case).check_ins if each.day == 14] == [CheckInKind.OUTCOME]
    last = seen("22 18:40", appetite="normal", faeces="normal", demeanour="bright")  # day 12
    assert verdict(case, [last], "30 12:00").level.word == "on_track"
    assert verdict(case, [], "30 12:00").level.word == "urgent"  # never heard from: that is silence


def test_the_classes_of_the_outcome_audit():
    assert {each.value for each in Outcome} == {
        "none", "abnormal_no_treatment", "medical_treatment", "surgical_treatment", "died", "lost",
    }  # fmt: skip


@pytest.mark.parametrize(
    "drug",
    [
        "meloxicam", "carprofen", "robenacoxib", "ketoprofen", "firocoxib", "deracoxib", "cimicoxib", "mavacoxib",
        "tolfenamic acid", "flunixin", "grapiprant", "aspirin", "ibuprofen", "naproxen", "diclofenac",
    ],
)  # fmt: skip
def test_the_list_of_anti_inflammatories(drug):
    assert formulary().is_nsaid(drug)
    assert len(formulary().nsaids) == 15
