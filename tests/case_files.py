"""Case files as a test writes them, and the schemas that they must keep."""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema

from followup.domain.case import DischargeCard, Prescription, VetSaid
from followup.domain.hours import Away, OwnerHours
from followup.domain.terms import Approach, Caution, Closure, Form
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
