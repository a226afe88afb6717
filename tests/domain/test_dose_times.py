"""When doses are asked for, on the owner's clock, through nights, absences and clock changes."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from decimal import Decimal
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from followup.domain.bounds import HOUR
from followup.domain.case import GivenInClinic
from followup.domain.dose_times import CannotBeKept, FirstDose, dose_times, how_many, least_spacing
from followup.domain.hours import Away, OwnerHours
from followup.domain.terms import ProblemKind
from tests.recoveries import (
    LONDON,
    MELOXICAM_IN_CLINIC,
    at,
    clock,
    found,
    guinea_pig,
    meloxicam,
    prescribed,
)

YEAR = (dt.datetime.fromisoformat("2026-03-01"), dt.datetime.fromisoformat("2026-11-10"))
"""Holds both clock changes of every zone below."""


def times_of(asked, case) -> list[str]:
    return [clock(dose.at) for dose in prescribed(asked, case).medicine.doses]


def test_the_first_home_dose_is_exactly_a_day_after_the_clinics():
    assert times_of(meloxicam(), guinea_pig()) == ["03-11 10:00", "03-12 10:00"]


def test_unknown_waits_a_day_from_the_end_of_surgery_and_needs_a_vet():
    result = prescribed(meloxicam(), guinea_pig(given_in_clinic=None))
    assert clock(result.medicine.doses[0].at) == "03-11 10:30"
    assert "$.given_in_clinic" in found(result.problems, ProblemKind.NEEDS_VET)


@pytest.mark.parametrize(
    ("home", "first"),
    [
        ("2025-03-10 16:30", "03-10 19:00"),  # the evening of surgery
        ("2025-03-10 18:30", "03-10 19:30"),  # one hour after going home is later
        ("2025-03-10 21:30", "03-11 07:00"),  # 22:30 is asleep
        ("2025-03-11 09:00", "03-11 10:00"),  # home on a later day
    ],
)
def test_nothing_given_in_clinic_starts_at_home_with_a_warning(home, first):
    result = prescribed(meloxicam(), guinea_pig(given_in_clinic=(), discharged_at=at(home)))
    assert clock(result.medicine.doses[0].at) == first
    assert result.medicine.doses[0].not_before == at(home)
    assert "$.given_in_clinic" in found(result.problems, ProblemKind.WARNING)


def test_a_dose_in_the_night_waits_for_waking_and_is_never_earlier():
    clinic = replace(MELOXICAM_IN_CLINIC, at=at("2025-03-10 05:30"))
    result = prescribed(meloxicam(), guinea_pig(given_in_clinic=(clinic,)))
    first = result.medicine.doses[0]
    assert (clock(first.not_before), clock(first.at)) == ("03-11 05:30", "03-11 07:00")


def test_a_later_dose_in_away_hours_moves_and_the_rest_keep_the_new_time():
    # 2025-03-12 is a Wednesday
    hours = OwnerHours(LONDON, away=(Away(frozenset({2}), dt.time(9), dt.time(17)),))
    assert times_of(meloxicam(days=4), guinea_pig(hours=hours)) == [
        "03-11 10:00", "03-12 17:00", "03-13 17:00", "03-14 17:00",
    ]  # fmt: skip


def test_limits_of_each_dose_follow_from_its_neighbours():
    one, two = prescribed(meloxicam(), guinea_pig()).medicine.doses
    assert clock(one.give_until) == "03-11 22:00"  # half an interval on, and half before the next
    assert clock(two.not_before) == "03-12 08:00"  # the first planned time + 22 h
    assert clock(two.give_until) == "03-12 22:00"


@pytest.mark.parametrize(
    ("begun", "hours_apart"),
    [("2025-03-29 10:00", 23), ("2025-10-25 10:00", 25)],  # nights of 30 March, 26 October
)
def test_at_a_clock_change_the_wall_clock_is_kept(begun, hours_apart):
    first = at(begun)
    one, two = dose_times(OwnerHours(LONDON), FirstDose(first, first), Decimal(24), 2)
    assert (two.at - one.at) / HOUR == hours_apart
    assert two.at.astimezone(LONDON).time() == dt.time(10)


def test_half_an_interval_before_the_next_ends_a_dose_early_in_the_spring_night():
    first = at("2025-03-29 10:00")
    one, _ = dose_times(OwnerHours(LONDON), FirstDose(first, first), Decimal(24), 2)
    assert one.give_until - one.at == 11 * HOUR  # 23 - 12


def test_twice_a_day_keeps_the_first_clock_time_where_both_are_awake():
    hours = OwnerHours(LONDON, wakes=dt.time(7), sleeps=dt.time(23))
    clinic = replace(MELOXICAM_IN_CLINIC, at=at("2025-03-10 09:00"))
    case = guinea_pig(hours=hours, given_in_clinic=(clinic,))
    assert times_of(meloxicam(every_hours=12, days=1), case) == ["03-11 09:00", "03-11 21:00"]


def test_twice_a_day_goes_to_waking_where_one_is_asleep_and_the_gap_is_said():
    result = prescribed(meloxicam(every_hours=12, days=1), guinea_pig())  # 10:00, and 22:00 is asleep
    assert [clock(d.at) for d in result.medicine.doses] == ["03-11 19:00", "03-12 07:00"]
    assert any("9.0 hours longer" in p.message for p in result.problems)


def test_twice_a_day_is_refused_where_nobody_is_awake_for_both():
    hours = OwnerHours(LONDON, wakes=dt.time(9), sleeps=dt.time(20))
    result = prescribed(meloxicam(every_hours=12), guinea_pig(hours=hours))
    assert "$.home_medication[0].every_hours" in found(result.problems, ProblemKind.REFUSED)


def test_three_a_day_are_at_waking_midday_and_before_sleep():
    first = at("2025-03-11 06:00")
    times = dose_times(OwnerHours(LONDON), FirstDose(first, first), Decimal(8), 4)
    assert [clock(each.at) for each in times] == [
        "03-11 07:00", "03-11 14:30", "03-11 21:00", "03-12 07:00",
    ]  # fmt: skip


@pytest.mark.parametrize(("wanted", "first"), [("07:00", "07:00"), ("07:01", "14:30"), ("21:01", "07:00")])
def test_three_a_day_begin_at_the_first_of_their_moments_that_is_not_too_early(wanted, first):
    begin = at(f"2025-03-11 {wanted}")
    (one,) = dose_times(OwnerHours(LONDON), FirstDose(begin, begin), Decimal(8), 1)
    assert clock(one.at)[-5:] == first


def test_twice_a_day_begins_at_waking_itself_where_that_is_not_too_early():
    # waking and waking + 12 h are 08:00 and 20:00; the 24 h are over at 07:00, when he sleeps
    hours = OwnerHours(LONDON, wakes=dt.time(8), sleeps=dt.time(20, 30))
    begin = at("2025-03-11 07:00")
    assert [clock(each.at) for each in dose_times(hours, FirstDose(begin, begin), Decimal(12), 2)] == [
        "03-11 08:00", "03-11 20:00",
    ]  # fmt: skip
    late = at("2025-03-11 08:31")  # 20:31 is asleep
    assert [clock(each.at) for each in dose_times(hours, FirstDose(late, late), Decimal(12), 2)] == [
        "03-11 20:00", "03-12 08:00",
    ]  # fmt: skip


def test_three_a_day_are_refused_where_two_would_be_under_six_hours_apart():
    first = at("2025-03-11 06:00")
    hours = OwnerHours(LONDON, wakes=dt.time(8), sleeps=dt.time(21))  # 08:00, 14:30, 20:00
    with pytest.raises(CannotBeKept, match=r"only 5\.5 hours apart"):
        dose_times(hours, FirstDose(first, first), Decimal(8), 3)


def test_a_patient_that_stays_gets_no_home_dose_before_going_home():
    doses = prescribed(meloxicam(), guinea_pig(discharged_at=at("2025-03-12 12:00"))).medicine.doses
    assert (clock(doses[0].at), clock(doses[0].not_before)) == ("03-12 12:00", "03-12 12:00")


def test_a_drug_that_is_no_nsaid_waits_one_interval_after_the_clinics():
    given = GivenInClinic("gabapentin", at("2025-03-10 15:00"))
    asked = meloxicam(drug="gabapentin", every_hours=24, days=1)
    result = prescribed(asked, guinea_pig(given_in_clinic=(given,)))
    assert clock(result.medicine.doses[0].at) == "03-11 15:00"
    assert times_of(asked, guinea_pig()) == ["03-10 19:00"]  # not given there: the first evening


@pytest.mark.parametrize("every", ["6", "10", "36"])
def test_other_intervals_are_refused(every):
    first = at("2025-03-11 10:00")
    with pytest.raises(CannotBeKept, match="cannot be planned"):
        dose_times(OwnerHours(LONDON), FirstDose(first, first), Decimal(every), 3)


@pytest.mark.parametrize(
    ("days", "every", "doses"),
    [(2, "24", 2), (2, "12", 4), (1, "8", 3), (3, "48", 2), (60, "72", 20)],
)
def test_doses_are_days_by_interval_rounded_up(days, every, doses):
    assert how_many(days, Decimal(every)) == doses


@given(
    zone=st.sampled_from(["Europe/London", "America/New_York", "Australia/Lord_Howe", "Asia/Kathmandu"]),
    start=st.datetimes(*YEAR),
    waking=st.tuples(st.integers(4, 11), st.integers(8, 20)),
    every=st.sampled_from(["8", "12", "24", "48"]),
    away=st.tuples(st.sets(st.integers(0, 6), max_size=5), st.integers(0, 23), st.integers(1, 8)),
)
def test_doses_are_never_too_close_never_asleep_and_never_early(zone, start, waking, every, away):
    (wakes, awake), (days, from_hour, length) = waking, away
    hours = OwnerHours(
        ZoneInfo(zone),
        wakes=dt.time(wakes),
        sleeps=dt.time((wakes + awake) % 24),
        away=(Away(frozenset(days), dt.time(from_hour), dt.time((from_hour + length) % 24)),),
    )
    first = start.replace(tzinfo=dt.UTC)
    try:
        times = dose_times(hours, FirstDose(first, first), Decimal(every), 6)
    except CannotBeKept:
        return  # said to the vet instead
    assert times[0].at >= first
    for one in times:
        assert hours.there(one.at)
        assert one.not_before <= one.at < one.give_until
    for one, two in pairwise(times):
        assert two.at - one.at >= least_spacing(Decimal(every))
        assert one.give_until < two.at
