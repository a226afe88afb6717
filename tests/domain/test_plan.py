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
from followup.domain.terms import CheckInKind, Closure, Jurisdiction, ProblemKind, RingOrTunic
from followup.protocols.load import load
from followup.protocols.load_formulary import formulary
from tests.recoveries import LONDON, at, clock, found, guinea_pig, meloxicam, plan_of, rabbit

REFUSED, NEEDS_VET, WARNING = ProblemKind.REFUSED, ProblemKind.NEEDS_VET, ProblemKind.WARNING
NORMAL = guinea_pig(home_medication=(meloxicam(),))


def asked_at(case, until_day=14) -> list[str]:
    return [clock(each.at) for each in plan_of(case).check_ins if each.day <= until_day]


@pytest.mark.parametrize("case", [guinea_pig(), rabbit()])
def test_a_small_mammal_is_asked_about_thirteen_times_in_fourteen_days(case):
    kinds = [
        (each.day, each.kind.value) for each in plan_of(replace(case, discharged_at=at("2025-03-10 16:00"))).check_ins
    ]
    assert kinds == [
        (0, "evening"), (0, "bedtime"), (1, "waking"), (1, "evening"), (2, "waking"),
        (2, "evening"), (3, "evening"), (4, "evening"), (5, "evening"), (7, "evening"),
        (10, "evening"), (12, "evening"),
        (14, "outcome"),
    ]  # fmt: skip


def test_a_plan_with_the_label_course_has_nothing_against_it():
    assert plan_of(NORMAL).problems == ()


def test_check_ins_keep_the_wall_clock_through_a_clock_change():
    case = guinea_pig(
        surgery_ended_at=at("2025-03-28 10:30"),
        discharged_at=at("2025-03-28 16:30"),
        given_in_clinic=(),
    )
    times = [each.at.astimezone(LONDON).time() for each in plan_of(case).check_ins if each.kind is CheckInKind.EVENING]
    assert set(times) == {dt.time(18, 30)}


@pytest.mark.parametrize(
    ("home", "day_0"),
    [
        ("2025-03-10 16:30", ["03-10 18:30", "03-10 20:45"]),  # home + 2 h is 18:30 itself
        ("2025-03-10 16:31", ["03-10 20:45"]),  # 18:30 is too soon; bedtime is left
        ("2025-03-10 19:00", ["03-10 20:45"]),  # none after 21:00: at latest bedtime
        ("2025-03-10 20:30", ["03-10 21:00"]),  # 30 min after going home is later than bedtime
        ("2025-03-10 21:00", ["03-10 21:30"]),  # one hour before sleep still has one
        ("2025-03-10 21:01", []),  # less than one hour: none
    ],
)
def test_the_first_evening_after_going_home(home, day_0):
    assert asked_at(guinea_pig(discharged_at=at(home)), until_day=0) == day_0


def test_home_on_the_day_after_begins_that_evening():
    assert asked_at(guinea_pig(discharged_at=at("2025-03-11 15:00")), until_day=2) == [
        "03-11 18:30", "03-12 07:30", "03-12 18:30",
    ]  # fmt: skip


def test_home_on_a_day_without_a_check_in_still_has_one():
    assert asked_at(guinea_pig(discharged_at=at("2025-03-16 11:00")), until_day=7) == [
        "03-16 13:00", "03-17 18:30",
    ]  # fmt: skip


def test_a_check_in_in_an_absence_moves_to_its_end():
    hours = OwnerHours(LONDON, away=(Away(frozenset({1}), dt.time(17), dt.time(20)),))  # Tuesday, day 1
    assert asked_at(guinea_pig(hours=hours), until_day=1)[-1] == "03-11 20:00"


def test_two_closer_than_two_hours_become_one_the_later_with_all_questions():
    hours = OwnerHours(LONDON, away=(Away(frozenset({0}), dt.time(18), dt.time(19)),))  # Monday, day 0
    plan = plan_of(guinea_pig(hours=hours))  # 18:30 → 19:00, and 20:45 is 1 h 45 later
    first = plan.check_ins[0]
    assert (clock(first.at), first.kind) == ("03-10 20:45", CheckInKind.BEDTIME)
    assert {"warmth", "breathing", "wound.bleeding", "urine"} <= set(first.questions)


def test_exactly_two_hours_apart_stay_two():
    hours = OwnerHours(LONDON, away=(Away(frozenset({0}), dt.time(18), dt.time(18, 45)),))
    assert asked_at(guinea_pig(hours=hours), until_day=0) == ["03-10 18:45", "03-10 20:45"]


def test_an_absence_into_the_night_leaves_the_evening_to_the_hours_before_it():
    hours = OwnerHours(LONDON, away=(Away(frozenset({0}), dt.time(18), dt.time(23)),))
    case = guinea_pig(hours=hours, discharged_at=at("2025-03-10 15:00"))
    assert asked_at(case, until_day=1)[:2] == ["03-10 17:00", "03-11 07:30"]


def test_an_evening_away_into_the_night_is_asked_half_an_hour_after_waking():
    hours = OwnerHours(LONDON, away=(Away(frozenset({4}), dt.time(18), dt.time(23)),))  # day 4, Friday
    assert [clock(each.at) for each in plan_of(guinea_pig(hours=hours)).check_ins if each.day == 4] == ["03-15 07:30"]


def test_seventy_two_hours_themselves_are_no_longer_the_first():
    case = guinea_pig(surgery_ended_at=at("2025-03-10 18:30"), discharged_at=at("2025-03-11 09:00"))
    due = {clock(each.at): clock(each.answer_by) for each in plan_of(case).check_ins}
    assert due["03-13 18:30"] == "03-14 18:30"


def test_a_day_after_is_24_hours_even_in_the_night_of_a_clock_change():
    ended = dt.datetime(2025, 3, 29, 10, 30, tzinfo=LONDON)
    given = GivenInClinic("meloxicam", dt.datetime(2025, 3, 29, 10, 0, tzinfo=LONDON), mg_per_kg=0.2)
    case = guinea_pig(surgery_ended_at=ended, discharged_at=ended.replace(hour=16), given_in_clinic=(given,))
    assert clock(plan_of(case).medication[0].doses[0].at) == "03-30 11:00"  # 10:00 would be 23 h


def test_an_owl_is_asked_before_an_owls_bed():
    hours = OwnerHours(LONDON, wakes=dt.time(10), sleeps=dt.time(2))
    assert asked_at(guinea_pig(hours=hours), until_day=1) == [
        "03-10 18:30", "03-11 00:45", "03-11 10:30", "03-11 18:30",
    ]  # fmt: skip


def test_an_answer_is_due_in_four_hours_at_first_and_a_day_later_on():
    due = {clock(each.at): clock(each.answer_by) for each in plan_of(NORMAL).check_ins}
    assert due["03-10 18:30"] == "03-11 07:00"  # 22:30 is asleep: the next waking hour
    assert due["03-11 07:30"] == "03-11 11:30"
    assert due["03-12 18:30"] == "03-13 07:00"  # 56 h: still the first 72
    assert due["03-13 18:30"] == "03-14 18:30"  # 80 h: a day


def test_a_due_time_at_sleep_itself_is_asleep():
    hours = OwnerHours(LONDON, sleeps=dt.time(22, 30))
    due = {clock(each.at): clock(each.answer_by) for each in plan_of(guinea_pig(hours=hours)).check_ins}
    assert due["03-10 18:30"] == "03-11 07:00"


def questions_on(case, day, kind="evening") -> set[str]:
    return {
        question
        for each in plan_of(case).check_ins
        if (each.day, each.kind.value) == (day, kind)
        for question in each.questions
    }


CORE = {
    "appetite",
    "last_ate_at",
    "faeces",
    "last_faeces_at",
    "demeanour",
    "wound",
    "worried",
    "text",
}
FIRST = {"warmth", "wound.bleeding", "breathing", "urine"}
WHOLE_WOUND = {
    "wound.edges", "wound.redness", "wound.swelling", "wound.discharge", "wound.bleeding",
    "wound.smell", "wound.interference",
}  # fmt: skip


def test_what_a_rabbit_is_asked_after_a_spay():
    case = rabbit(discharged_at=at("2025-03-10 16:00"))
    assert questions_on(case, 0) == CORE | FIRST
    assert questions_on(case, 0, "bedtime") == CORE
    assert questions_on(case, 1, "waking") == CORE
    assert questions_on(case, 1) == CORE | {"pain_signs", "drinking"}
    assert questions_on(case, 3) == CORE - {"wound"} | WHOLE_WOUND
    assert questions_on(case, 4) == CORE


def test_the_groin_is_asked_every_time_unless_the_ring_was_closed():
    closed = guinea_pig(discharge=DischargeCard(ring_or_tunic=RingOrTunic.CLOSED))
    assert "scrotum_or_groin" not in questions_on(closed, 4)
    assert "scrotum_or_groin" in questions_on(closed, 1)  # days 1 and 2 in any case
    for ring in (None, RingOrTunic.UNKNOWN, RingOrTunic.OPEN):
        plan = plan_of(guinea_pig(discharge=DischargeCard(ring_or_tunic=ring)))
        assert all("scrotum_or_groin" in each.questions for each in plan.check_ins)


def test_home_scales_add_weights():
    case = guinea_pig(discharge=DischargeCard(home_scales=True))
    weighed = [(each.day, each.kind.value) for each in plan_of(case).check_ins if "weight_g" in each.questions]
    assert weighed == [
        (1, "waking"), (2, "waking"), (3, "evening"), (5, "evening"), (7, "evening"),
        (10, "evening"),
    ]  # fmt: skip
    assert not any("weight_g" in each.questions for each in plan_of(guinea_pig()).check_ins)


def test_edges_are_not_asked_of_a_wound_that_was_left_open():
    asked = questions_on(guinea_pig(discharge=DischargeCard(closure=Closure.LEFT_OPEN)), 3)
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
