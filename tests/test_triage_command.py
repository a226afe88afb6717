"""`manage.py triage`: a case file in, a verdict out; what is unreadable or contradicts itself is refused by path."""

from __future__ import annotations

import itertools
import json
from typing import Any

import pytest

from followup.casefile import BadCase, read_case_file, verdict_json
from followup.management import case_file
from followup.management.judging import judge, judge_and_explain
from tests.case_files import file, schema
from tests.command import manage, python

MELOXICAM = {"drug": "meloxicam", "mg_per_kg": 0.1, "every_hours": 24, "days": 2, "mg_per_ml": 0.5}
EVENING = {"at": "2025-03-10T18:30:00Z", "appetite": "less", "faeces": "fewer", "demeanour": "quiet"}
MORNING = {"at": "2025-03-11T07:40:00Z", "appetite": "none", "demeanour": "dull", "not_sure": ["faeces"]}
NOW = "2025-03-11T08:00:00Z"


def whole(**changes):
    usual = {
        "home_medication": [MELOXICAM],
        "last_ate_before_discharge_at": "2025-03-10T15:00:00Z",
        "observations": [MORNING, EVENING],
        "now": NOW,
    }
    return file(**{**usual, **changes})


def judged(values) -> dict[str, object]:
    found = read_case_file(values)
    return verdict_json(judge(found, case_file.protocol_for(found)), found.case.hours.zone)


def run(tmp_path, values, *more):
    path = tmp_path / "case.json"
    path.write_text(json.dumps(values), encoding="utf-8")
    return manage("triage", str(path), *more, folder=tmp_path / "no-data-folder")


def test_a_verdict_keeps_the_contract_and_ends_with_0(tmp_path):
    result = run(tmp_path, whole())

    assert (result.returncode, result.stderr) == (0, "")
    printed = json.loads(result.stdout)
    assert list(schema("triage").iter_errors(printed)) == []
    assert printed["protocol"] == "guinea_pig_castration@1"
    assert printed["signals"]["hours_without_food"] == {"at_least": 0.33, "at_most": 13.5}
    assert (printed["level"], printed["flags"][0]["certainty"]) == ("urgent", "possible")
    assert not (tmp_path / "no-data-folder").exists()


def test_standard_input_and_no_key_database_or_network(tmp_path):
    result = python(
        "-c",
        "import sys, io, os, socket; socket.socket.connect = None; sys.stdin = io.StringIO(os.environ['CASE']);"
        "sys.argv = ['manage.py', 'triage', '-']; import manage; manage.main()",
        folder=tmp_path / "none",
        CASE=json.dumps(whole()),
        DATABASE_URL="postgres://nobody@127.0.0.1:1/nothing",
    )
    assert (result.returncode, json.loads(result.stdout)["level"]) == (0, "urgent"), result.stderr


def test_what_is_printed_carries_its_explanation_and_keeps_the_contract():
    found = read_case_file(whole())
    protocol = case_file.protocol_for(found)
    verdict, explanation = judge_and_explain(found, protocol)
    printed: dict[str, Any] = verdict_json(verdict, found.case.hours.zone, explanation)

    assert list(schema("triage").iter_errors(printed)) == []
    assert printed["explanation"].keys() == {"unknown", "changed", "to_do", "caution"}
    assert printed["explanation"]["changed"]["since"] == "2025-03-11T07:40:00+00:00"
    assert printed["explanation"]["to_do"]["by"] == "2025-03-11T10:00:00+00:00"
    for flag in printed["flags"]:
        why = flag["explanation"]
        assert why.keys() == {"rule", "rests_on", "certainty", "lower_if", "nothing_lowers", "can_explain"}
        assert bool(why["lower_if"]) != bool(why["nothing_lowers"])
    assert judge(found, protocol) == verdict


def test_nothing_is_compared_where_nobody_has_answered(tmp_path):
    printed = json.loads(run(tmp_path, whole(observations=[])).stdout)

    assert printed["explanation"]["changed"] is None


def test_the_explanation_is_for_people(tmp_path):
    said = run(tmp_path, whole(), "--explain").stdout
    for words in (
        "URGENT on Tue 11 Mar, 08:00\n",
        "guinea pig, castration; guinea_pig_castration@1; times in Europe/London",
        "URGENT, possible: no food for 0.3 to 13.5 h; 12 h or more",
        "source: 12 to 24 h can start fat breakdown in guinea pigs",
        "hours without food: 0.33 to 13.5",
        "Not known\n  how long without food: anything from 0.33 to 13.5 h\n",
        "\n  weight since discharge\n",
        "lower if: food after Tue 11 Mar 02:00: would raise nothing",
        "to do: speak to the owner, by Tue 11 Mar, 10:00",
        "rests on: Has the animal eaten anything since the last time?: Nothing (Tue 11 Mar, 07:40, owner)\n",
        "\nWhat the newest answer changed, Tue 11 Mar, 07:40\n  level: urgent, as before\n",
        "  gone: eats less",
        "which drugs the clinic gave\n",
        "held until a vet decides: meloxicam",
        "not a substitute for the treating vet",
    ):
        assert words in said


def test_a_quiet_recovery_is_explained_without_a_reason(tmp_path):
    good = {"appetite": "normal", "faeces": "normal", "demeanour": "bright"}
    said = run(tmp_path, whole(observations=[{**EVENING, **good}], now="2025-03-10T18:40:00Z"), "--explain").stdout
    assert said.startswith("ON TRACK on Mon 10 Mar, 18:40\n")
    assert "Nothing that is known worries us" in said


def test_the_order_of_the_observations_changes_nothing():
    seen = [
        EVENING,
        MORNING,
        {"at": "2025-03-10T20:45:00Z", "weight_g": 870},
        {"at": "2025-03-11T07:50:00Z", "text": "ok"},
    ]
    expected = judged(whole(observations=seen))
    for mixed in itertools.permutations(seen):
        assert judged(whole(observations=list(mixed))) == expected


def test_an_observation_between_surgery_and_discharge_counts():
    in_clinic = {"at": "2025-03-10T12:00:00Z", "by": "staff", "demeanour": "collapsed"}
    assert judged(whole(observations=[in_clinic], now="2025-03-10T17:00:00Z"))["level"] == "emergency"


def dose(**changes):
    return {"at": "2025-03-11T07:00:00Z", "dose": {"drug": "meloxicam", "outcome": "given", **changes}}


CONTRADICTIONS = [
    (whole(now=...), "$.now", "is missing"),
    (whole(now="2025-03-10T16:00:00Z"), "$.now", "before the discharge"),
    (whole(now="2025-03-11T08:00:00"), "$.now", "without an offset"),
    (whole(discharged_at="2025-03-10T10:00:00Z"), "$.discharged_at", "before the end of surgery"),
    (whole(observations=[EVENING, {**MORNING, "at": "2025-03-11T08:00:01Z"}]), "$.observations[1].at", "after now"),
    (
        whole(observations=[MORNING, {"at": "2025-03-10T10:29:00Z"}]),
        "$.observations[1].at",
        "before the end of surgery",
    ),
    (
        whole(observations=[MORNING, {**EVENING, "last_ate_at": "2025-03-10T18:31:00Z"}]),
        "$.observations[1].last_ate_at",
        "is after the observation",
    ),
    (
        whole(observations=[{**EVENING, "last_faeces_at": "2025-03-10T19:00:00Z"}]),
        "$.observations[0].last_faeces_at",
        "is after the observation",
    ),
    (
        whole(observations=[{**EVENING, "last_urine_at": "2025-03-10T19:00:00Z"}]),
        "$.observations[0].last_urine_at",
        "is after the observation",
    ),
    (
        whole(observations=[dose(given_at="2025-03-11T07:01:00Z")]),
        "$.observations[0].dose.given_at",
        "is after the observation",
    ),
    (
        whole(observations=[{**EVENING, "other_medicine": {"what": "x", "at": "2025-03-10T19:00:00Z"}}]),
        "$.observations[0].other_medicine.at",
        "is after the observation",
    ),
    (whole(observations=[dose(drug="tramadol")]), "$.observations[0].dose.drug", "the plan, which has meloxicam"),
    (
        whole(home_medication=[], observations=[dose()]),
        "$.observations[0].dose.drug",
        "the plan, which has no medicine",
    ),
    (
        whole(procedure="spay", patient={"species": "rabbit", "weight_g": 900, "sex": "male"}),
        "$.patient.sex",
        "is male, but the operation is a spay",
    ),
    (
        whole(patient={"species": "guinea_pig", "weight_g": 900, "sex": "female"}),
        "$.patient.sex",
        "is female, but the operation is a castration",
    ),
    (whole(observations=[{**EVENING, "weight_g": 2701}]), "$.observations[0].weight_g", "more than 3 times off"),
    (whole(observations=[{**EVENING, "colour": "blue"}]), "$.observations[0].colour", "not a key that is known"),
]


@pytest.mark.parametrize(("values", "path", "says"), CONTRADICTIONS)
def test_what_contradicts_itself_is_refused_by_its_path(values, path, says):
    with pytest.raises(BadCase, match=r"^\$\.") as refusal:
        judged(values)
    assert refusal.value.path == path
    assert says in str(refusal.value)


@pytest.mark.parametrize("values", [CONTRADICTIONS[0][0], CONTRADICTIONS[4][0]])
def test_a_refusal_ends_with_2_and_prints_nothing_else(tmp_path, values):
    result = run(tmp_path, values)
    assert (result.returncode, result.stdout) == (2, "")
    assert result.stderr.startswith("CommandError: $.")
    assert "Traceback" not in result.stderr


def test_times_at_the_edge_are_no_contradiction():
    seen = {**EVENING, "last_ate_at": EVENING["at"]}
    assert judged(whole(observations=[seen], now=EVENING["at"]))["at"] == "2025-03-10T18:30:00+00:00"


def test_a_plan_reads_no_observations_and_needs_no_now(tmp_path):
    path = tmp_path / "case.json"
    path.write_text(json.dumps(whole(now=..., observations=[dose(drug="tramadol")])), encoding="utf-8")
    assert manage("plan", str(path), folder=tmp_path / "none").returncode == 0
