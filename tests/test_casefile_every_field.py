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

from followup.casefile import BadCase, read_case_file, read_text
from tests.case_files import SCHEMAS, file

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
    "string": (3, None, []), "number": ("3", None, True, float("nan"), float("inf")), "integer": ("3", 2.5, True),
    "boolean": ("yes", 1), "array": ("x", {}), "object": ([], "x"),
}  # fmt: skip
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
    yield from _out_of_range(schema)


def _out_of_range(schema: dict[str, Any]) -> Iterator[float]:
    if "minimum" in schema:
        yield schema["minimum"] - 1
    if "exclusiveMinimum" in schema:
        yield schema["exclusiveMinimum"]
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
