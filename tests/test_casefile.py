"""A case file is read whole or refused by its path; what is written reads back the same."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from followup.casefile import (
    BadCase,
    case_json,
    compiled_from_json,
    observation_json,
    plan_json,
    read_case,
    read_case_file,
    read_observation,
)
from followup.domain.answers import ANSWERS, PainSign, Question, Unsure
from followup.domain.case import Case
from followup.domain.observation import DoseReport, Observation, OtherMedicine, Told
from followup.domain.terms import (
    DoseOutcome,
    Form,
    Observer,
    Sign,
)
from tests.case_files import WHOLE, file, schema, through_text
from tests.recoveries import LONDON, at, guinea_pig, meloxicam, plan_of, rabbit


@pytest.mark.parametrize(
    "case",
    [
        guinea_pig(),
        rabbit(),
        WHOLE,
        guinea_pig(given_in_clinic=None),
        guinea_pig(given_in_clinic=(), home_medication=()),
    ],
)
def test_a_case_reads_back_the_same_and_keeps_the_format(case: Case):
    values = through_text(case_json(case))
    schema("case").validate(values)
    assert read_case(values) == case


@pytest.mark.parametrize("case", [guinea_pig(), rabbit(), WHOLE, guinea_pig(home_medication=(meloxicam(3),))])
def test_a_plan_reads_back_the_same_and_keeps_the_format(case: Case):
    plan = plan_of(case)
    values = through_text(plan_json(plan, LONDON))
    schema("plan").validate(values)
    assert compiled_from_json(values) == plan


def test_a_tablet_plan_keeps_the_format():
    tablets = meloxicam(0.1, form=Form.TABLET, mg_per_ml=None, mg_per_tablet=0.05)
    plan = plan_of(guinea_pig(home_medication=(tablets,)))
    values = through_text(plan_json(plan, LONDON))
    schema("plan").validate(values)
    assert compiled_from_json(values) == plan


def test_times_are_printed_in_the_owners_zone():
    values = through_text(plan_json(plan_of(guinea_pig()), LONDON))
    apart = [each["until"] for each in values["restrictions"] if each["what"].startswith("kept_apart")]
    assert apart == ["2025-04-21T12:00:00+01:00"]


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


def test_an_observation_reads_back_the_same_and_keeps_the_format():
    values = through_text(observation_json(SEEN))
    schema("case").validate(file(observations=[values]))
    assert read_observation(values) == SEEN


@given(
    answers=st.fixed_dictionaries({}, optional={q: st.sampled_from(words) for q, words in ANSWERS.items()}),
    signs=st.none() | st.frozensets(st.sampled_from(list(PainSign))),
    not_sure=st.frozensets(st.sampled_from(list(Unsure))),
    died=st.booleans(),
)
def test_every_answer_survives(answers, signs, not_sure, died):
    seen = Observation(at("2025-03-11 07:40"), answers=answers, pain_signs=signs, not_sure=not_sure, died=died)
    assert read_observation(through_text(observation_json(seen))) == seen


def test_an_absent_answer_stays_absent():
    assert observation_json(Observation(at("2025-03-11 07:40"))) == {
        "at": "2025-03-11T07:40:00+00:00",
        "by": "owner",
    }


def test_observations_keep_the_files_order_so_that_a_refusal_names_the_right_one():
    seen = read_case_file(
        file(observations=[{"at": "2025-03-11T08:00:00Z"}, {"at": "2025-03-10T18:00:00+00:00"}])
    ).observations
    assert [each.at for each in seen] == [at("2025-03-11 08:00"), at("2025-03-10 18:00")]


DOSE = {"drug": "Meloxicam ", "mg_per_kg": 0.1, "mg_per_ml": 0.5, "every_hours": 24, "days": 2}
PATIENT = {"species": "guinea_pig", "weight_g": 900}


def test_a_drug_is_kept_in_lower_case():
    [asked] = read_case(file(home_medication=[DOSE])).home_medication or ()
    assert asked.drug == "meloxicam"


@pytest.mark.parametrize(
    ("values", "path"),
    [
        ([], "$"),
        (file(colour="brown"), "$.colour"),
        (file(patient={**PATIENT, "legs": 4}), "$.patient.legs"),
        (file(patient={"species": "goat", "weight_g": 900}), "$.patient.species"),
        (file(patient={"species": "guinea_pig", "weight_g": 0}), "$.patient.weight_g"),
        (file(patient={"species": "guinea_pig", "weight_g": "900 g"}), "$.patient.weight_g"),
        (file(patient={"species": "guinea_pig", "weight_g": True}), "$.patient.weight_g"),
        (file(patient={"species": "guinea_pig", "weight_g": float("nan")}), "$.patient.weight_g"),
        (file(patient={"species": "guinea_pig", "weight_g": float("inf")}), "$.patient.weight_g"),
        (file(patient={"species": "guinea_pig"}), "$.patient.weight_g"),
        (file(patient={**PATIENT, "age_months": -1}), "$.patient.age_months"),
        (file(patient={**PATIENT, "cautions": ["grumpy"]}), "$.patient.cautions[0]"),
        (file(procedure=...), "$.procedure"),
        (file(surgery_ended_at="2025-03-10T10:30:00"), "$.surgery_ended_at"),  # no offset
        (file(surgery_ended_at="tomorrow"), "$.surgery_ended_at"),
        (file(surgery_ended_at=1741602600), "$.surgery_ended_at"),
        (file(discharged_at="2025-03-10T10:29:00Z"), "$.discharged_at"),
        (file(time_zone="Mars/Olympus"), "$.time_zone"),
        (file(time_zone="../etc/passwd"), "$.time_zone"),
        (file(owner_hours={"wakes": "07:00", "sleeps": "07:00"}), "$.owner_hours.sleeps"),
        (file(owner_hours={"wakes": "7:00", "sleeps": "22:00"}), "$.owner_hours.wakes"),
        (file(owner_hours={"wakes": "07:00", "sleeps": "24:00"}), "$.owner_hours.sleeps"),
        (
            file(
                owner_hours={
                    "wakes": "07:00",
                    "sleeps": "22:00",
                    "away": [{"days": ["funday"], "from": "08:00", "to": "09:00"}],
                }
            ),
            "$.owner_hours.away[0].days",
        ),
        (
            file(
                owner_hours={
                    "wakes": "07:00",
                    "sleeps": "22:00",
                    "away": [
                        {
                            "days": ["mon", "tue", "wed", "thu", "fri", "sat", "sun"],
                            "from": "06:00",
                            "to": "23:00",
                        }
                    ],
                }
            ),
            "$.owner_hours.away",
        ),
        (
            file(given_in_clinic=[{"drug": "meloxicam", "at": "2025-03-10T17:00:00Z"}]),
            "$.given_in_clinic[0].at",
        ),
        (file(given_in_clinic=[{"at": "2025-03-10T10:00:00Z"}]), "$.given_in_clinic[0].drug"),
        (file(home_medication=[{**DOSE, "mg_per_ml": 0}]), "$.home_medication[0].mg_per_ml"),
        (file(home_medication=[{**DOSE, "days": 2.5}]), "$.home_medication[0].days"),
        (file(home_medication=[{**DOSE, "days": 61}]), "$.home_medication[0].days"),
        (file(home_medication=[{**DOSE, "syringe_ml": 4}]), "$.home_medication[0].syringe_ml"),
        (file(home_medication=[{**DOSE, "form": "tablet"}]), "$.home_medication[0].mg_per_tablet"),
        (file(home_medication=[{**DOSE, "drug": " "}]), "$.home_medication[0].drug"),
        (
            file(home_medication=[{**DOSE, "form": "fixed", "fixed_amount": 1, "fixed_unit": "spoon"}]),
            "$.home_medication[0].fixed_unit",
        ),
        (
            file(last_ate_before_discharge_at="2025-03-10T16:31:00Z"),
            "$.last_ate_before_discharge_at",
        ),
        (file(discharge={"appetite": "some"}), "$.discharge.appetite"),
        (file(discharge={"stitches_out_on": "next week"}), "$.discharge.stitches_out_on"),
        (file(observations=[{"at": "2025-03-10T10:00:00Z"}]), "$.observations[0].at"),
        (
            file(observations=[{"at": "2025-03-10T18:00:00Z", "appetite": "ok"}]),
            "$.observations[0].appetite",
        ),
        (
            file(observations=[{"at": "2025-03-10T18:00:00Z", "wound": {"edges": "torn"}}]),
            "$.observations[0].wound.edges",
        ),
        (
            file(observations=[{"at": "2025-03-10T18:00:00Z", "wound": {"size": 3}}]),
            "$.observations[0].wound.size",
        ),
        (
            file(observations=[{"at": "2025-03-10T18:00:00Z", "seizure": "no"}]),
            "$.observations[0].seizure",
        ),
        (
            file(observations=[{"at": "2025-03-10T18:00:00Z", "weight_g": 2701}]),
            "$.observations[0].weight_g",
        ),
        (
            file(observations=[{"at": "2025-03-10T18:00:00Z", "weight_g": 299}]),
            "$.observations[0].weight_g",
        ),
        (
            file(observations=[{"at": "2025-03-10T18:00:00Z", "vomits_since_last": -1}]),
            "$.observations[0].vomits_since_last",
        ),
        (
            file(observations=[{"at": "2025-03-10T18:00:00Z", "dose": {"drug": "x", "outcome": "ok"}}]),
            "$.observations[0].dose.outcome",
        ),
        (file(now="2025-03-10T16:00:00Z"), "$.now"),
    ],
)
def test_what_is_wrong_is_named_by_its_path(values, path):
    with pytest.raises(BadCase) as refusal:
        read_case_file(values)
    assert refusal.value.path == path
    assert str(refusal.value).startswith(f"{path}: ")
