"""Every field of the case format, walked from its schema: wrong type, unknown word, out of range, unknown key, missing.

A field that is added to the format is tried here without anybody thinking of it. Each refusal is a sentence that
begins with the JSON path.
"""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from typing import Any

import pytest

from followup.casefile import BadCase, plan_json, read_case_file, read_text
from followup.domain.plan import compile_plan
from followup.protocols.load import load
from followup.protocols.load_formulary import formulary
from tests.case_files import SCHEMAS, file, schema, through_text

SCHEMA: dict[str, Any] = json.loads((SCHEMAS / "case.schema.json").read_text(encoding="utf-8"))
TIME = "2025-03-10T18:00:00Z"

WHOLE = file(
    patient={"name": "Pip", "species": "guinea_pig", "sex": "male", "age_months": 8, "weight_g": 900,
             "cautions": ["nursing"]},
    owner_hours={"wakes": "07:00", "sleeps": "22:00", "away": [{"days": ["mon"], "from": "08:00", "to": "12:00"}]},
    jurisdiction="eu_uk",
    given_in_clinic=[{"drug": "meloxicam", "mg_per_kg": 0.2, "route": "sc", "at": "2025-03-10T10:00:00Z",
                      "formulation": "standard"}],
    home_medication=[
        {"drug": "meloxicam", "first_mg_per_kg": 0.2, "mg_per_kg": 0.1, "every_hours": 24, "days": 2, "mg_per_ml": 0.5,
         "syringe_ml": 1, "form": "liquid", "route": "po", "prescribed_by": "A. Vet", "off_label_explained": True},
        {"drug": "gabapentin", "form": "tablet", "mg_per_kg": 5, "mg_per_tablet": 10, "tablet_parts": 2,
         "every_hours": 12, "days": 1},
        {"drug": "simethicone", "form": "fixed", "fixed_amount": 0.5, "fixed_unit": "ml", "every_hours": 12, "days": 1},
    ],
    last_ate_before_discharge_at="2025-03-10T15:00:00Z",
    last_faeces_before_discharge_at="2025-03-10T14:00:00Z",
    last_urine_before_discharge_at=None,
    discharge={"fit_to_go_by": "A. Vet", "approach": "scrotal", "closure": "glue", "stitches_out_on": "2025-03-20",
               "ring_or_tunic": "closed", "blood_loss": "as_usual", "temperature_c": 38.4, "appetite": "less",
               "feeding_ml_per_day": 40, "night_plan": True, "company": "bonded", "home_scales": True},
    vet_said=[{"at": "2025-03-10T20:00:00Z", "look_again_at": "2025-03-11T08:00:00Z"}],
    observations=[{"at": TIME, "by": "owner", "dose": {"drug": "meloxicam", "outcome": "given"},
                   "other_medicine": {"what": "syrup"}}],
    now="2025-03-11T08:00:00Z",
)  # fmt: skip
"""A case with nearly every key, so that each can be spoilt by itself."""

SPOILT: dict[str, tuple[object, ...]] = {
    "string": (3, None, [], "half a character \ud800", "a\0b"),
    "number": ("3", None, True, float("nan"), float("inf")),
    "integer": ("3", 2.5, True),
    "boolean": ("yes", 1),
    "array": ("x", {}),
    "object": ([], "x"),
}
"""Values of other types, by the type that the schema asks for."""

Path = tuple[str | int, ...]


def resolved(schema: dict[str, Any]) -> dict[str, Any]:
    """The schema itself, or what it refers to."""
    name = schema.get("$ref", "").removeprefix("#/$defs/")
    return SCHEMA["$defs"][name] if name else schema


def fields(schema: dict[str, Any], path: Path = ()) -> Iterator[tuple[Path, dict[str, Any], bool]]:
    """Every field with its schema, and whether it must be there."""
    for name, inner in schema.get("properties", {}).items():
        here, known = (*path, name), resolved(inner)
        yield here, known, name in schema.get("required", ())
        if known.get("type") == "object":
            yield from fields(known, here)
        if known.get("type") == "array" and "items" in known:
            yield from fields(resolved(known["items"]), (*here, 0))


def wrong_values(schema: dict[str, Any]) -> Iterator[object]:
    """What this field must refuse, as far as the schema says."""
    types = schema.get("type", ())
    kinds = [types] if isinstance(types, str) else list(types)
    for kind in kinds:
        yield from (value for value in SPOILT.get(kind, ()) if not (value is None and "null" in kinds))
    if "enum" in schema:
        yield "no such word"
    if schema.get("format") == "date-time":
        yield from ("tomorrow", "2025-03-10T18:00:00", "2025-13-40T18:00:00Z", 1741602600)
        yield from ("0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00")  # where the calendar ends
    yield from _out_of_range(schema)


def _out_of_range(schema: dict[str, Any]) -> Iterator[float]:
    if "minimum" in schema:
        yield schema["minimum"] - 1
    if "exclusiveMinimum" in schema:
        yield from (schema["exclusiveMinimum"], 1e-7)  # the smallest number that is kept is a millionth
    if "maximum" in schema:
        yield schema["maximum"] + 1


def placed(path: Path, value: object) -> Any:
    """The whole case with one value put in its place; `...` takes the key away."""
    found: Any = copy.deepcopy(WHOLE)
    inner = found
    for step in path[:-1]:
        inner = inner.setdefault(step, {}) if isinstance(inner, dict) else inner[step]
    if value is ...:
        inner.pop(path[-1], None)
    else:
        inner[path[-1]] = value
    return found


def said(path: Path) -> str:
    return "$" + "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in path)


ALL = list(fields(SCHEMA))
SPOILT_FIELDS = [(path, value) for path, schema, _ in ALL for value in wrong_values(schema)]
TABLES = [path for path, schema, _ in ALL if schema.get("type") == "object"] + [
    (*path, 0) for path, schema, _ in ALL if resolved(schema.get("items", {})).get("type") == "object"
]


def test_the_whole_case_is_read_and_every_field_is_walked():
    assert read_case_file(WHOLE).case.patient.name == "Pip"
    assert len(ALL) > 100
    assert len(SPOILT_FIELDS) > 250


@pytest.mark.parametrize(
    ("path", "value"), SPOILT_FIELDS, ids=lambda each: said(each) if isinstance(each, tuple) else repr(each)
)
def test_a_wrong_value_is_refused_at_its_path(path, value):
    with pytest.raises(BadCase) as refusal:
        read_case_file(placed(path, value))
    assert refusal.value.path.startswith(said(path))
    assert str(refusal.value).startswith(f"{refusal.value.path}: ")


@pytest.mark.parametrize("path", TABLES, ids=said)
def test_an_unknown_key_is_refused_in_every_table(path):
    with pytest.raises(BadCase, match="is not a key that is known here"):
        read_case_file(placed((*path, "no_such_key"), 1))


@pytest.mark.parametrize("path", [path for path, _, needed in ALL if needed], ids=said)
def test_a_missing_key_is_refused_by_its_path(path):
    with pytest.raises(BadCase, match="is missing") as refusal:
        read_case_file(placed(path, ...))
    assert refusal.value.path.startswith(said(path))


NUMBERS = [path for path, schema, _ in ALL if "number" in schema.get("type", ()) or schema.get("type") == "integer"]


@pytest.mark.parametrize("path", NUMBERS, ids=said)
@pytest.mark.parametrize("value", [0.000001, 1e15, 0.1 + 0.2])
def test_the_smallest_and_largest_numbers_are_reckoned_with_or_refused_in_a_sentence(path, value):
    try:
        case = read_case_file(placed(path, value)).case
    except BadCase as refusal:
        refused = str(refusal)
    else:
        refused = ""
        plan = compile_plan(case, load("guinea_pig_castration"), formulary())
        assert list(schema("plan").iter_errors(through_text(plan_json(plan, case.hours.zone)))) == []
    assert refused.startswith(said(path)) or not refused


@pytest.mark.parametrize(
    "hours",
    [
        {"wakes": "12:00", "sleeps": "12:01"},
        {"wakes": "12:01", "sleeps": "12:00"},
        {
            "wakes": "00:00",
            "sleeps": "23:59",
            "away": [{"days": ["mon", "tue", "wed", "thu", "fri", "sat", "sun"], "from": "00:01", "to": "23:59"}],
        },
    ],
)
def test_days_of_a_minute_still_have_a_plan(hours):
    case = read_case_file(placed(("owner_hours",), hours)).case
    plan = compile_plan(case, load("guinea_pig_castration"), formulary())
    assert all(case.hours.there(each.at) for each in plan.check_ins)
    assert {each.day for each in plan.check_ins} >= {5, 7, 10, 12, 14}
    assert all(case.day(each.at) - each.day in (0, 1) for each in plan.check_ins)  # at the next waking, not weeks on


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "is not JSON"),
        ("\ufeff{}", "is not JSON"),
        ("{" * 5000, "is not JSON"),
        ('{"procedure": "spay", "procedure": "castration"}', "procedure stands twice"),
        ('{"patient": {"weight_g": 900, "weight_g": 9000}}', "weight_g stands twice"),
        (json.dumps(WHOLE).replace('"weight_g": 900', '"weight_g": 1e999'), "weight_g: must be a finite number"),
        (json.dumps(WHOLE).replace('"weight_g": 900', f'"weight_g": {"9" * 400}'), "weight_g: must be a finite number"),
        ('{"patient": ' + "9" * 5000 + "}", "is not JSON"),
        (json.dumps(WHOLE).replace('["nursing"]', '["nursing", "nursing"]'), "cautions: names something twice"),
        ('{"patient": -Infinity}', "is not a number"),
        ("nul", "is not JSON"),
    ],
)
def test_what_a_schema_cannot_catch_is_caught(text, says):
    with pytest.raises(BadCase, match=says):
        read_text(text)
