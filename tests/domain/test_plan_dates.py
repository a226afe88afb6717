"""A whole plan from a case: when we ask and what, by when, what stands against it."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from followup.domain.bounds import HOUR
from followup.domain.case import DischargeCard, GivenInClinic
from followup.domain.hours import Away, OwnerHours
from followup.domain.plan import WrongProtocol, compile_plan
from followup.domain.terms import Closure, Jurisdiction, ProblemKind
from followup.protocols.load import load
from followup.protocols.load_formulary import formulary
from tests.domain.asked import questions_on
from tests.recoveries import LONDON, at, clock, found, guinea_pig, meloxicam, plan_of, rabbit

REFUSED, NEEDS_VET, WARNING = ProblemKind.REFUSED, ProblemKind.NEEDS_VET, ProblemKind.WARNING
NORMAL = guinea_pig(home_medication=(meloxicam(),))


def test_edges_are_not_asked_of_a_wound_that_was_left_open():
    case = guinea_pig(discharge=DischargeCard(closure=Closure.LEFT_OPEN))
    for day in (3, 10):
        asked = questions_on(case, day)
        assert "wound.edges" not in asked
        assert {"wound", "wound.bleeding", "wound.swelling", "wound.discharge", "wound.smell"} <= asked


def test_photos_are_asked_on_days_three_and_ten():
    assert [each.day for each in plan_of(NORMAL).check_ins if each.photo] == [3, 10]


def test_the_worst_consequence_comes_first_and_words_last():
    first = plan_of(NORMAL).check_ins[0].questions
    assert first[:3] == ("breathing", "demeanour", "appetite")
    assert first[-2:] == ("worried", "text")


def test_what_a_boar_and_a_doe_must_not_do():
    assert {each.what: clock(each.until) for each in plan_of(NORMAL).restrictions} == {
        "no_bathing": "03-24 12:00",
        "protect_wound": "03-24 12:00",
        "soft_bedding": "03-13 12:00",
        "kept_apart_from_entire_females": "04-21 12:00",
    }
    assert "kept_apart_from_entire_females" not in {each.what for each in plan_of(rabbit()).restrictions}


# What stands against a plan ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("given", "amounts"),
    [
        (guinea_pig().given_in_clinic, ["0.18", "0.18"]),  # two more of the label's three
        (None, ["0.18", "0.18"]),  # unknown: as if given
        ((), ["0.36", "0.18", "0.18"]),  # all three at home
    ],
)
def test_a_guinea_pigs_proposal_is_the_labels_course(given, amounts):
    plan = plan_of(guinea_pig(given_in_clinic=given))
    [medicine] = plan.medication
    assert medicine.proposal
    assert [str(dose.ml) for dose in medicine.doses] == amounts
    assert "$.home_medication" in found(plan.problems, NEEDS_VET)
    assert not any("larger first dose" in problem.message for problem in plan.problems)  # nobody asked for one


def test_a_rabbits_proposal_is_four_days_in_all():
    [medicine] = plan_of(rabbit()).medication  # 2.4 kg x 0.6 mg/kg / 1.5 mg/ml = 0.96 ml
    assert [str(dose.ml) for dose in medicine.doses] == ["0.96"] * 3


def test_none_means_none():
    assert plan_of(guinea_pig(home_medication=())).medication == ()


def test_after_another_nsaid_nothing_is_proposed_and_it_is_said_why():
    given = (GivenInClinic("carprofen", at("2025-03-10 10:00"), mg_per_kg=4),)
    plan = plan_of(rabbit(given_in_clinic=given))
    assert plan.medication == ()
    assert any("the clinic gave carprofen" in problem.message for problem in plan.problems)


def test_two_nsaids_at_home_refuse_the_later():
    both = (meloxicam(), meloxicam(drug="carprofen"))
    plan = plan_of(guinea_pig(home_medication=both))
    assert found(plan.problems, REFUSED) == ["$.home_medication[1].drug"]
    assert [len(medicine.doses) for medicine in plan.medication] == [2, 0]
    assert plan.refused()


@pytest.mark.parametrize("ate", [None, at("2025-03-10 10:29")])
def test_a_grazer_not_known_to_have_eaten_since_surgery_needs_a_vet(ate):
    plan = plan_of(replace(NORMAL, last_ate_before_discharge_at=ate))
    assert found(plan.problems, NEEDS_VET) == ["$.last_ate_before_discharge_at"]


def test_eating_at_the_end_of_surgery_counts():
    assert plan_of(replace(NORMAL, last_ate_before_discharge_at=at("2025-03-10 10:30"))).problems == ()


@pytest.mark.parametrize(("celsius", "asked"), [(37.8, True), (37.9, False), (None, False)])
def test_a_cold_patient_needs_a_vet(celsius, asked):
    plan = plan_of(replace(NORMAL, discharge=DischargeCard(temperature_c=celsius)))
    assert ("$.discharge.temperature_c" in found(plan.problems, NEEDS_VET)) is asked


def test_an_nsaid_for_a_patient_that_eats_nothing_needs_a_vet():
    refuses = DischargeCard(appetite="none")
    assert found(plan_of(replace(NORMAL, discharge=refuses)).problems, NEEDS_VET) == ["$.discharge.appetite"]
    assert plan_of(replace(NORMAL, discharge=refuses, home_medication=())).problems == ()


@pytest.mark.parametrize(("weight_g", "asked"), [(0.9, True), (249, True), (250, False), (1600, False), (1601, True)])
def test_a_weight_outside_the_plausible_range_is_asked_about(weight_g, asked):
    case = replace(NORMAL, patient=replace(NORMAL.patient, weight_g=weight_g))
    plan = plan_of(case)
    assert ("$.patient.weight_g" in found(plan.problems, NEEDS_VET)) is asked


def test_what_the_practice_lacks_is_said():
    plan = plan_of(replace(NORMAL, jurisdiction=Jurisdiction.OTHER), approved=False, out_of_hours_known=False)
    assert found(plan.problems, WARNING) == ["$.procedure", "$.patient.species", "$.jurisdiction"]


def test_a_protocol_for_another_operation_is_refused():
    with pytest.raises(WrongProtocol):
        compile_plan(rabbit(), load("guinea_pig_castration"), formulary())


def test_times_in_a_zones_own_clock_give_the_same_plan():
    local = replace(
        NORMAL,
        surgery_ended_at=NORMAL.surgery_ended_at.astimezone(LONDON),
        discharged_at=NORMAL.discharged_at.astimezone(LONDON),
    )
    assert plan_of(local) == plan_of(NORMAL)


@given(
    home=st.integers(0, 60 * 60),
    wakes=st.integers(4, 11),
    awake=st.integers(6, 20),
    away=st.tuples(st.sets(st.integers(0, 6), max_size=6), st.integers(0, 23), st.integers(1, 9)),
)
def test_no_owner_is_asked_asleep_away_too_soon_or_twice_in_two_hours(home, wakes, awake, away):
    days, from_hour, length = away
    hours = OwnerHours(
        LONDON,
        wakes=dt.time(wakes),
        sleeps=dt.time((wakes + awake) % 24),
        away=(Away(frozenset(days), dt.time(from_hour), dt.time((from_hour + length) % 24)),),
    )
    ended = at("2025-03-27 11:00")  # the clocks go forward on day 3
    case = guinea_pig(
        hours=hours,
        surgery_ended_at=ended,
        discharged_at=ended + dt.timedelta(minutes=home),
        given_in_clinic=(),
        home_medication=(),
    )
    moments = plan_of(case).check_ins
    for each in moments:
        assert hours.there(each.at)
        assert each.at >= case.discharged_at + HOUR / 2
        assert each.answer_by > each.at
        assert hours.awake(each.answer_by)
    for one, two in pairwise(moments):
        assert two.at - one.at >= 2 * HOUR
