"""A whole plan from a case: when we ask and what, by when, what stands against it."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest

from followup.domain.case import DischargeCard, GivenInClinic
from followup.domain.hours import Away, OwnerHours
from followup.domain.terms import CheckInKind, ProblemKind, RingOrTunic
from tests.domain.asked import CORE, FIRST, WHOLE_WOUND, asked_at, questions_on
from tests.recoveries import LONDON, at, clock, guinea_pig, meloxicam, plan_of, rabbit

REFUSED, NEEDS_VET, WARNING = ProblemKind.REFUSED, ProblemKind.NEEDS_VET, ProblemKind.WARNING
NORMAL = guinea_pig(home_medication=(meloxicam(),))


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


def test_what_a_rabbit_is_asked_after_a_spay():
    case = rabbit(discharged_at=at("2025-03-10 16:00"))
    assert questions_on(case, 0) == CORE | FIRST
    assert questions_on(case, 0, "bedtime") == CORE
    assert questions_on(case, 1, "waking") == CORE
    assert questions_on(case, 1) == CORE | {"pain_signs", "drinking"}
    assert questions_on(case, 3) == questions_on(case, 10) == CORE - {"wound"} | WHOLE_WOUND
    for day in (4, 5, 7, 12):
        assert questions_on(case, day) == CORE


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
