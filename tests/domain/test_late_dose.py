"""A dose that was forgotten: now, or skipped, and when the next is. Source: clinical defaults, 8, "Late dose" (C)."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from decimal import Decimal
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from followup.domain.dose_times import CannotBeKept, dose_times_after, least_spacing
from followup.domain.hours import Away, OwnerHours
from followup.domain.late_dose import Give, moved_by, what_now
from tests.recoveries import LONDON, at, clock, guinea_pig, meloxicam, prescribed

HOURS = OwnerHours(LONDON)
WORKS = Away(frozenset(range(5)), dt.time(8), dt.time(17))


def course(every: int, days: int = 3, hours: OwnerHours = HOURS):
    """Meloxicam after the clinic's of 10:00 on the day before, so doses begin at 10:00 on the 11th."""
    found = prescribed(meloxicam(every_hours=every, days=days), guinea_pig(hours=hours)).medicine
    assert found.doses
    return found


def times(medicine) -> list[str]:
    return [clock(dose.at) for dose in medicine.doses]


@pytest.mark.parametrize(
    ("now", "give", "next_at"),
    [
        ("2025-03-11 09:59", Give.NOT_YET, "03-12 10:00"),  # the clinic's dose is not 24 h ago
        ("2025-03-11 10:00", Give.NOW, "03-12 10:00"),
        ("2025-03-11 10:30", Give.NOW, "03-12 10:00"),  # about in time: nothing moves
        ("2025-03-11 10:31", Give.NOW, "03-12 10:31"),
        ("2025-03-11 18:00", Give.NOW, "03-12 18:00"),
        ("2025-03-11 22:00", Give.NOW, "03-13 07:00"),  # just half the interval is left; 22:00 is asleep next day
        ("2025-03-11 22:01", Give.SKIP, "03-12 10:00"),
    ],
)
def test_once_a_day_is_given_up_to_half_the_interval(now, give, next_at):
    answer = what_now(course(24), 1, HOURS, at(now))
    assert (answer.give, answer.next_at and clock(answer.next_at)) == (give, next_at)


def test_a_second_dose_may_come_two_hours_early_and_no_earlier():
    medicine = course(24)
    assert what_now(medicine, 2, HOURS, at("2025-03-12 07:59")).give is Give.NOT_YET
    assert what_now(medicine, 2, HOURS, at("2025-03-12 08:00")).give is Give.NOW


@pytest.mark.parametrize(
    ("now", "give", "next_at"),
    [
        ("2025-03-11 15:59", Give.NOW, "03-12 07:00"),  # 03:59 is asleep, so from waking on
        ("2025-03-11 16:01", Give.SKIP, "03-11 22:00"),
    ],
)
def test_twice_a_day_has_six_hours(now, give, next_at):
    night_owl = OwnerHours(LONDON, sleeps=dt.time(23))
    answer = what_now(course(12, hours=night_owl), 1, night_owl, at(now))
    assert (answer.give, answer.next_at and clock(answer.next_at)) == (give, next_at)


def test_the_later_doses_keep_the_new_clock_time_and_their_number():
    moved = moved_by(course(24), 1, at("2025-03-11 16:00"), HOURS)
    assert times(moved) == ["03-11 10:00", "03-12 16:00", "03-13 16:00"]
    assert clock(moved.doses[1].not_before) == "03-12 14:00"
    assert clock(moved.doses[1].give_until) == "03-13 04:00"


def test_the_last_dose_moves_nothing():
    medicine = course(24)
    assert moved_by(medicine, 3, at("2025-03-13 20:00"), HOURS) == medicine
    assert what_now(medicine, 3, HOURS, at("2025-03-13 20:00")).next_at is None


def test_a_moved_dose_waits_for_somebody_to_be_there():
    works = replace(HOURS, away=(WORKS,))
    moved = moved_by(course(24), 1, at("2025-03-11 12:00"), works)
    assert times(moved)[1:] == ["03-12 17:00", "03-13 17:00"]


def test_across_both_clock_changes_the_wall_clock_is_kept():
    spring = dose_times_after(HOURS, at("2025-03-29 16:00"), Decimal(24), 2)
    autumn = dose_times_after(HOURS, at("2025-10-25 16:00"), Decimal(24), 2)
    assert [clock(each.at) for each in (*spring, *autumn)] == [
        "03-30 16:00",
        "03-31 16:00",
        "10-26 16:00",
        "10-27 16:00",
    ]
    assert spring[0].at - at("2025-03-29 16:00") == dt.timedelta(hours=23)
    assert autumn[0].at - at("2025-10-25 16:00") == dt.timedelta(hours=25)


def test_what_cannot_be_kept_well_apart_is_skipped_and_never_doubled():
    """Three times a day at 07:00, 14:30 and 21:00; on Wednesday nobody is there until 17:30, 3.5 h before 21:00."""
    medicine = course(8, days=2)
    assert times(medicine)[:3] == ["03-11 14:30", "03-11 21:00", "03-12 07:00"]
    away = replace(HOURS, away=(Away(frozenset({2}), dt.time(12), dt.time(17, 30)),))
    given_at = at("2025-03-11 16:00")
    assert what_now(medicine, 1, HOURS, given_at).give is Give.NOW
    with pytest.raises(CannotBeKept):
        moved_by(medicine, 1, given_at, away)
    answer = what_now(medicine, 1, away, given_at)
    assert (answer.give, answer.next_at) == (Give.SKIP, at("2025-03-11 21:00"))


@given(
    every=st.sampled_from([8, 12, 24, 48, 72]),
    zone=st.sampled_from(["Europe/London", "Asia/Kolkata", "Australia/Lord_Howe", "America/Santiago", "Asia/Beirut"]),
    minutes=st.integers(min_value=0, max_value=400 * 24 * 60),
    count=st.integers(min_value=1, max_value=6),
)
def test_spacing_holds_after_any_late_dose(every, zone, minutes, count):
    hours = OwnerHours(ZoneInfo(zone))
    last = dt.datetime(2025, 3, 1, tzinfo=dt.UTC) + dt.timedelta(minutes=minutes)
    found = dose_times_after(hours, last, Decimal(every), count)
    assert len(found) == count
    least = least_spacing(Decimal(every))
    for earlier, later in pairwise([last, *(each.at for each in found)]):
        assert later - earlier >= least
    for each, before in zip(found, [last, *(one.at for one in found)], strict=False):
        assert hours.there(each.at)
        assert each.not_before == before + least
        assert each.at <= each.give_until
