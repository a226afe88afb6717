"""A case file is read whole or refused by its path; what is written reads back the same."""

from __future__ import annotations

import pytest

from followup.casefile import (
    BadCase,
    read_case,
    read_case_file,
    read_text,
    verdict_json,
)
from followup.domain.answers import Question, Unsure
from followup.domain.bounds import HOUR, Bounds
from followup.domain.observation import DoseReport, Observation, OtherMedicine, Told
from followup.domain.terms import (
    Certainty,
    Concern,
    DoseOutcome,
    Heard,
    Level,
    Observer,
    Sign,
)
from followup.domain.verdict import Ask, Finding, HeardState, Signals, Verdict
from tests.case_files import file, schema, through_text
from tests.recoveries import LONDON, at

SEEN = Observation(
    at=at("2025-03-11 07:40"),
    by=Observer.STAFF,
    answers={
        Question.APPETITE: "a_few_bites",
        Question.EDGES: "closed",
        Question.SMELL: "no",
        Question.SEIZURE: "yes",
    },
    told={Sign.FOOD: Told.exactly(at("2025-03-11 06:00")), Sign.FAECES: None},
    not_sure=frozenset({Unsure.URINE}),
    pain_signs=frozenset(),
    vomits=0,
    weight_g=880,
    dose=DoseReport("meloxicam", DoseOutcome.WENT_WRONG, at("2025-03-11 07:00"), ml=0.3, route_wrong=True),
    other_medicine=OtherMedicine("a piece of aspirin", "half"),
    text="he looks sad",
)


DOSE = {"drug": "Meloxicam ", "mg_per_kg": 0.1, "mg_per_ml": 0.5, "every_hours": 24, "days": 2}


PATIENT = {"species": "guinea_pig", "weight_g": 900}


def test_home_at_the_end_of_surgery_itself_is_read():
    case = read_case(file(discharged_at="2025-03-10T10:30:00Z"))
    assert case.discharged_at == case.surgery_ended_at


def test_exactly_three_times_off_is_still_read():
    assert read_case_file(file(observations=[{"at": "2025-03-10T18:00:00Z", "weight_g": 2700}])).observations


@pytest.mark.parametrize("text", ["", "{", '{"weight_g": NaN}', "[1, -Infinity]", "[" * 100_000])
def test_what_is_no_json_is_refused(text):
    with pytest.raises(BadCase, match=r"^\$: "):
        read_text(text)


def test_a_verdict_keeps_the_format():
    verdict = Verdict(
        protocol="guinea_pig_castration@1",
        at=at("2025-03-10 20:00"),
        level=Level.URGENT,
        heard=HeardState(Heard.HEARD, at("2025-03-10 19:00")),
        findings=(
            Finding(
                "no-food",
                Concern.EATING,
                Level.URGENT,
                Certainty.POSSIBLE,
                "no food for 6 h",
                "clinical defaults, 2",
            ),
        ),
        signals=Signals(
            since_surgery=9.5 * HOUR,
            since_last_heard=HOUR,
            without={Sign.FOOD: Bounds(HOUR, 6 * HOUR), Sign.URINE: None},
            weight_change_pct=-5.2,
            pain_sign_count=None,
            doses_missed_running=0,
            check_ins_unanswered_running=0,
        ),
        look_again_at=at("2025-03-10 21:00"),
        next_rise_at=None,
        ask=Ask(at("2025-03-10 20:30"), ("appetite",)),
    )
    values = through_text(verdict_json(verdict, LONDON))
    schema("triage").validate(values)
    assert values["signals"]["hours_without_food"] == {"at_least": 1.0, "at_most": 6.0}
    assert values["level"] == "urgent"
