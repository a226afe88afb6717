"""The owner's wall clock: zones that jump, nights after midnight, absences past midnight.

Source of the values at clock changes: the IANA time zone database (the system's, or the tzdata package that the program
depends on), read by PEP 495's rule: a time that is skipped is the instant that the clock before the jump gives, and of
a time that comes twice the first counts.
"""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from followup.domain.bounds import HOUR
from followup.domain.hours import Away, NeverThere, OwnerHours
from tests.recoveries import LONDON, at, clock

WEEK = frozenset(range(7))
USUAL = OwnerHours(LONDON)
OWL = OwnerHours(LONDON, wakes=dt.time(10), sleeps=dt.time(2))


@pytest.mark.parametrize(
    ("local", "zone", "utc"),
    [
        ("2026-03-29 01:30", "Europe/London", "2026-03-29 01:30"),  # skipped: shows 02:30 BST
        ("2026-10-25 01:30", "Europe/London", "2026-10-25 00:30"),  # twice: the first
        ("2026-03-08 02:30", "America/New_York", "2026-03-08 07:30"),  # skipped
        ("2026-11-01 01:30", "America/New_York", "2026-11-01 05:30"),  # twice: the first
        ("2026-10-04 02:15", "Australia/Lord_Howe", "2026-10-03 15:45"),  # skips half an hour
        ("2026-09-27 02:50", "Pacific/Chatham", "2026-09-26 14:05"),  # +12:45
        ("2026-06-01 09:00", "Asia/Kathmandu", "2026-06-01 03:15"),  # +05:45, no change
        ("2026-09-06 00:00", "America/Santiago", "2026-09-06 04:00"),  # skips midnight
    ],
)
def test_a_clock_time_is_the_instant_that_pep_495_gives(local, zone, utc):
    moment = dt.datetime.fromisoformat(local)
    found = OwnerHours(ZoneInfo(zone)).instant(moment.date(), moment.time())
    assert found == dt.datetime.fromisoformat(utc).replace(tzinfo=dt.UTC)


@pytest.mark.parametrize(
    ("hours", "moment", "awake"),
    [
        (USUAL, "2025-03-10 06:59", False),
        (USUAL, "2025-03-10 07:00", True),  # waking itself is awake
        (USUAL, "2025-03-10 21:59", True),
        (USUAL, "2025-03-10 22:00", False),  # sleep itself is asleep
        (OWL, "2025-03-10 01:59", True),  # still yesterday's waking day
        (OWL, "2025-03-10 02:00", False),
        (OWL, "2025-03-10 10:00", True),
    ],
)
def test_awake_is_from_waking_until_before_sleep(hours, moment, awake):
    assert hours.awake(at(moment)) is awake


@pytest.mark.parametrize(
    ("hours", "moment", "waking"),
    [
        (USUAL, "2025-03-10 23:30", "03-11 07:00"),
        (USUAL, "2025-03-11 03:00", "03-11 07:00"),
        (USUAL, "2025-03-10 12:00", "03-10 12:00"),
        (OWL, "2025-03-11 01:00", "03-11 01:00"),
        (OWL, "2025-03-11 02:00", "03-11 10:00"),
    ],
)
def test_the_next_waking_moment(hours, moment, waking):
    assert clock(hours.next_awake(at(moment))) == waking


def test_the_next_waking_is_that_of_the_night_to_come():
    assert clock(USUAL.next_waking(at("2025-03-10 12:00"))) == "03-11 07:00"
    assert clock(USUAL.next_waking(at("2025-03-10 23:00"))) == "03-11 07:00"
    assert clock(OWL.next_waking(at("2025-03-11 01:00"))) == "03-11 10:00"


def test_an_owls_day_ends_after_midnight():
    day = dt.date(2025, 3, 10)
    assert clock(OWL.sleeps_on(day)) == "03-11 02:00"
    assert clock(OWL.bedtime_on(day)) == "03-11 00:45"
    assert clock(OWL.evening_on(day)) == "03-10 18:30"
    assert OWL.waking_day(at("2025-03-11 01:00")) == day


def test_the_evening_is_never_later_than_bedtime():
    early = OwnerHours(LONDON, wakes=dt.time(4), sleeps=dt.time(19))
    assert clock(early.evening_on(dt.date(2025, 3, 10))) == "03-10 17:45"


@pytest.mark.parametrize(
    ("moment", "there"),
    [
        ("2025-03-10 09:00", "03-10 17:30"),  # Monday: away 08:00 to 17:30
        ("2025-03-10 08:00", "03-10 17:30"),  # the first moment of an absence
        ("2025-03-10 17:30", "03-10 17:30"),  # its end is there
        ("2025-03-11 09:00", "03-11 09:00"),  # Tuesday: at home
    ],
)
def test_an_absence_ends_when_somebody_is_there(moment, there):
    hours = OwnerHours(LONDON, away=(Away(frozenset({0}), dt.time(8), dt.time(17, 30)),))
    assert clock(hours.next_there(at(moment))) == there


def test_an_absence_past_midnight_lasts_into_the_next_day():
    hours = OwnerHours(LONDON, away=(Away(frozenset({0}), dt.time(20), dt.time(9)),))  # Monday night
    assert clock(hours.next_there(at("2025-03-10 21:00"))) == "03-11 09:00"
    assert clock(hours.next_there(at("2025-03-11 07:30"))) == "03-11 09:00"
    assert hours.there(at("2025-03-10 07:30"))  # Monday morning is not Sunday's


def test_an_absence_that_ends_asleep_waits_for_waking():
    hours = OwnerHours(LONDON, away=(Away(frozenset({0}), dt.time(18), dt.time(23)),))
    assert clock(hours.next_there(at("2025-03-10 19:00"))) == "03-11 07:00"


def test_nobody_ever_there_is_said():
    hours = OwnerHours(LONDON, away=(Away(WEEK, dt.time(6), dt.time(23)),))
    with pytest.raises(NeverThere):
        hours.next_there(at("2025-03-10 12:00"))


def test_waking_time_is_counted_without_the_night():
    assert clock(USUAL.add_waking(at("2025-03-10 21:30"), HOUR)) == "03-11 07:30"
    assert clock(USUAL.add_waking(at("2025-03-10 12:00"), HOUR)) == "03-10 13:00"
    assert clock(USUAL.add_waking(at("2025-03-10 23:00"), HOUR)) == "03-11 08:00"


@pytest.mark.parametrize(("day", "hours_awake"), [("2026-03-29", 21), ("2026-10-25", 23), ("2026-06-01", 22)])
def test_a_long_day_gains_or_loses_an_hour_with_the_clock(day, hours_awake):
    hours = OwnerHours(LONDON, wakes=dt.time(0, 30), sleeps=dt.time(22, 30))
    date = dt.date.fromisoformat(day)
    assert hours.sleeps_on(date) - hours.wakes_on(date) == hours_awake * HOUR


YEAR = (dt.datetime.fromisoformat("2026-01-01"), dt.datetime.fromisoformat("2026-12-31"))
ZONES = [
    "Europe/London",
    "America/New_York",
    "Australia/Lord_Howe",
    "Asia/Kathmandu",
    "Pacific/Chatham",
]


@given(
    zone=st.sampled_from(ZONES),
    moment=st.datetimes(*YEAR),
    wakes=st.times(),
    sleeps=st.times(),
)
def test_the_next_waking_moment_is_awake_and_not_before(zone, moment, wakes, sleeps):
    wakes, sleeps = wakes.replace(second=0, microsecond=0), sleeps.replace(second=0, microsecond=0)
    apart = (dt.datetime.combine(moment, sleeps) - dt.datetime.combine(moment, wakes)) % dt.timedelta(1)
    if not 3 * HOUR <= apart <= 21 * HOUR:
        return  # a day as short as a clock change is no day
    hours, asked = OwnerHours(ZoneInfo(zone), wakes, sleeps), moment.replace(tzinfo=dt.UTC)
    found = hours.next_awake(asked)
    assert found >= asked
    assert hours.awake(found)
    assert hours.awake(asked) is (found == asked)
    assert found - asked <= 25 * HOUR
