"""A case file is read whole or refused by its path; what is written reads back the same."""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema
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
from followup.domain.case import DischargeCard, Prescription, VetSaid
from followup.domain.hours import Away, OwnerHours
from followup.domain.observation import DoseReport, Observation, OtherMedicine, Told
from followup.domain.terms import (
    Approach,
    Caution,
    Certainty,
    Closure,
    Concern,
    DoseOutcome,
    Form,
    Heard,
    Level,
    Observer,
    Sign,
)
from followup.domain.verdict import Ask, Finding, HeardState, Signals, Verdict
from tests.recoveries import LONDON, at, guinea_pig, meloxicam

SCHEMAS = Path(__file__).parent.parent / "followup" / "schemas"


def schema(name: str) -> jsonschema.Draft202012Validator:
    text = (SCHEMAS / f"{name}.schema.json").read_text(encoding="utf-8")
    return jsonschema.Draft202012Validator(json.loads(text))


def through_text(values: object) -> Any:
    return json.loads(json.dumps(values))


def file(**changes) -> dict[str, object]:
    """A small case file with some keys changed; a value of ... takes the key away."""
    values = {
        "patient": {"species": "guinea_pig", "weight_g": 900},
        "procedure": "castration",
        "surgery_ended_at": "2025-03-10T10:30:00Z",
        "discharged_at": "2025-03-10T16:30:00+00:00",
        "time_zone": "Europe/London",
        **changes,
    }
    return {key: value for key, value in values.items() if value is not ...}


WHOLE = guinea_pig(
    patient=replace(guinea_pig().patient, cautions=frozenset({Caution.ON_STEROID, Caution.NURSING})),
    hours=OwnerHours(LONDON, dt.time(6, 30), dt.time(1), (Away(frozenset({0, 4}), dt.time(20), dt.time(4)),)),
    home_medication=(
        meloxicam(first_mg_per_kg=0.2, syringe_ml=1, prescribed_by="A. Vet"),
        Prescription("simethicone", 12, 3, Form.FIXED, fixed_amount=0.5, fixed_unit="ml"),
    ),
    discharge=DischargeCard(
        fit_to_go_by="A. Vet",
        approach=Approach.SCROTAL,
        closure=Closure.GLUE,
        temperature_c=38.4,
        home_scales=False,
        appetite="less",
        stitches_out_on=dt.date(2025, 3, 20),
    ),
    vet_said=(VetSaid(at("2025-03-10 20:00"), at("2025-03-11 08:00")),),
)


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
