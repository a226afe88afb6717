"""`manage.py plan`: a case file in, a plan out; what cannot be used is refused by its JSON path."""

from __future__ import annotations

import json
import re

import pytest
from django.core.management.base import CommandError

from followup.management import case_file
from tests.case_files import file, schema
from tests.command import manage, python

MELOXICAM = {
    "drug": "meloxicam", "mg_per_kg": 0.1, "every_hours": 24, "days": 2, "mg_per_ml": 0.5, "syringe_ml": 1,
    "prescribed_by": "A. Vet", "off_label_explained": True,
}  # fmt: skip
GIVEN = [{"drug": "meloxicam", "mg_per_kg": 0.2, "route": "sc", "at": "2025-03-10T10:00:00Z"}]
ATE = "2025-03-10T15:00:00Z"


def plan(tmp_path, values, *more):
    """The command over these values, which need not be a case."""
    path = tmp_path / "case.json"
    path.write_text(values if isinstance(values, str) else json.dumps(values))
    return manage("plan", str(path), *more, folder=tmp_path / "no-data-folder")


def whole(**changes):
    usual = {"given_in_clinic": GIVEN, "home_medication": [MELOXICAM], "last_ate_before_discharge_at": ATE}
    return file(**{**usual, **changes})


def test_a_usable_plan_keeps_the_contract_and_ends_with_0(tmp_path):
    result = plan(tmp_path, whole())

    assert (result.returncode, result.stderr) == (0, "")
    printed = json.loads(result.stdout)
    assert list(schema("plan").iter_errors(printed)) == []
    assert [dose["ml"] for dose in printed["medication"][0]["doses"]] == [0.18, 0.18]  # 0.9 kg x 0.1 mg/kg / 0.5 mg/ml
    assert not (tmp_path / "no-data-folder").exists()


def test_a_refused_medicine_is_printed_without_doses_and_ends_with_1(tmp_path):
    result = plan(tmp_path, whole(home_medication=[{**MELOXICAM, "mg_per_kg": 2.5}]))

    printed = json.loads(result.stdout)
    assert (result.returncode, printed["medication"][0]["doses"], printed["medication"][0]["total_ml"]) == (1, [], 0)
    assert {problem["kind"] for problem in printed["problems"]} >= {"refused"}


def test_standard_input_and_no_key_database_or_network(tmp_path):
    text = json.dumps(whole())
    result = python(
        "-c",
        "import sys, io, os, socket; socket.socket.connect = None; sys.stdin = io.StringIO(os.environ['CASE']);"
        "sys.argv = ['manage.py', 'plan', '-']; import manage; manage.main()",
        folder=tmp_path / "none",
        CASE=text,
        DATABASE_URL="postgres://nobody@127.0.0.1:1/nothing",
    )
    assert (result.returncode, json.loads(result.stdout)["protocol"]) == (0, "guinea_pig_castration@1"), result.stderr


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ("{", "$: is not JSON"),
        ("[]", "$: must be a table of named values"),
        ('{"patient": NaN}', "$: NaN is not a number"),
        (whole(colour="blue"), "$.colour: is not a key that is known here"),
        (whole(discharged_at=...), "$.discharged_at: is missing"),
        (whole(discharged_at="2025-03-10T16:30:00"), "$.discharged_at: is a time without an offset"),
        (whole(discharged_at="tomorrow"), "$.discharged_at: must be a time such as"),
        (whole(discharged_at="2025-03-10T09:30:00Z"), "$.discharged_at: is before the end of surgery"),
        (whole(time_zone="Europe/Nowhere"), "$.time_zone: 'Europe/Nowhere' is not a time zone"),
        (whole(patient={"species": "hamster", "weight_g": 90}), "$.patient.species: must be one of guinea_pig, rabbit"),
        (whole(patient={"species": "guinea_pig", "weight_g": 0}), "$.patient.weight_g: must be more than 0"),
        (whole(patient={"species": "guinea_pig", "weight_g": "900"}), "$.patient.weight_g: must be a number"),
        (whole(home_medication=[{**MELOXICAM, "syringe_ml": 4}]), "$.home_medication[0].syringe_ml: "),
        (whole(home_medication=[{**MELOXICAM, "days": 61}]), "$.home_medication[0].days: "),
        (whole(home_medication=[{**MELOXICAM, "days": 1.5}]), "$.home_medication[0].days: "),
        (whole(home_medication=[{**MELOXICAM, "mg_per_kg": None}]), "$.home_medication[0].mg_per_kg: "),
        (whole(home_medication=[{**MELOXICAM, "form": "tablet"}]), "$.home_medication[0]"),
    ],
)
def test_what_cannot_be_read_ends_with_2_and_the_path(tmp_path, values, said):
    result = plan(tmp_path, values)

    assert (result.returncode, result.stdout) == (2, "")
    assert said in result.stderr
    assert "Traceback" not in result.stderr


def test_a_file_that_is_not_there_ends_with_2(tmp_path):
    result = manage("plan", "nowhere.json", folder=tmp_path)

    assert (result.returncode, result.stderr) == (
        2,
        "CommandError: nowhere.json cannot be read: No such file or directory.\n",
    )


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "$: is not JSON"),
        (b"\xef\xbb\xbf{}", "$: is not JSON"),  # a mark of byte order
        (b'{"patient": "\xe9"}', "cannot be read: 'utf-8'"),  # Latin 1
        ("{}".encode("utf-16"), "cannot be read: 'utf-8'"),
        (b"[" * 200_000, "$: is not JSON"),
        (b'{"a":' * 100_000, "$: is not JSON"),
    ],
)
def test_bytes_that_are_no_case_end_with_2_and_a_sentence(tmp_path, data, says):
    path = tmp_path / "case.json"
    path.write_bytes(data)
    with pytest.raises(CommandError, match=re.escape(says)) as refusal:
        case_file.read(str(path))
    assert refusal.value.returncode == case_file.UNREADABLE


def test_a_folder_is_no_case(tmp_path):
    with pytest.raises(CommandError, match="Is a directory"):
        case_file.read(str(tmp_path))


def test_the_sheet_is_for_people(tmp_path):
    result = plan(tmp_path, whole(), "--sheet")

    assert result.returncode == 0
    for words in ("meloxicam, 0.5 mg/ml, by mouth, 1 ml syringe, dispense 0.4 ml", "Tue 11 Mar, 10:00", "0.18 ml"):
        assert words in result.stdout
    for words in ("fluids, for the vet to decide: 90 ml a day", "vitamin C, for the vet to decide: 9 to 27 mg a day"):
        assert words in result.stdout
    assert "not a substitute for the treating vet" in result.stdout
