"""A whole plan in zones that jump by half an hour, at midnight, or stand between two hours.

Source of the offsets: the IANA time zone database (the system's, or the tzdata package that the program depends on).
"""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest

from followup.domain.case import GivenInClinic
from followup.domain.compiled import CompiledPlan
from followup.domain.hours import OwnerHours
from tests.recoveries import guinea_pig, meloxicam, plan_of

UTC = dt.UTC


def plan(zone: str, ended: str, *, wakes: str = "07:00", sleeps: str = "22:00") -> CompiledPlan:
    """Surgery ends at this local time, the clinic gave meloxicam an hour before, home five hours later."""
    local = ZoneInfo(zone)
    end = dt.datetime.fromisoformat(ended).replace(tzinfo=local)
    given = GivenInClinic("meloxicam", end - dt.timedelta(hours=1), 0.2)
    hours = OwnerHours(local, dt.time.fromisoformat(wakes), dt.time.fromisoformat(sleeps))
    return plan_of(
        guinea_pig(
            surgery_ended_at=end,
            discharged_at=end.astimezone(UTC) + dt.timedelta(hours=5),
            hours=hours,
            given_in_clinic=(given,),
            home_medication=(meloxicam(days=4),),
            last_ate_before_discharge_at=end.astimezone(UTC) + dt.timedelta(hours=4),
            last_faeces_before_discharge_at=None,
        )
    )


def local(moments, zone: str) -> list[str]:
    return [f"{each.astimezone(ZoneInfo(zone)):%m-%d %H:%M}" for each in moments]


SPRINGS = [
    # zone, surgery the day before the change, hours between the doses around it
    ("Europe/London", "2026-03-28 10:30", 23.0),
    ("Europe/London", "2026-10-24 10:30", 25.0),
    ("America/New_York", "2026-03-07 10:30", 23.0),
    ("America/New_York", "2026-10-31 10:30", 25.0),
    ("Australia/Lord_Howe", "2026-10-03 10:30", 23.5),  # half an hour
    ("Australia/Lord_Howe", "2026-04-04 10:30", 24.5),
    ("Australia/Adelaide", "2026-10-03 10:30", 23.0),  # +09:30 and +10:30
    ("America/Santiago", "2026-09-05 10:30", 23.0),  # midnight does not exist
    ("America/Santiago", "2026-04-04 10:30", 25.0),  # midnight comes twice
    ("Asia/Beirut", "2026-03-28 10:30", 23.0),  # midnight does not exist
    ("Africa/Cairo", "2026-04-23 10:30", 23.0),  # midnight does not exist
    ("America/Havana", "2026-03-07 10:30", 23.0),  # midnight does not exist
    ("Asia/Kolkata", "2026-03-28 10:30", 24.0),  # +05:30, never changes
    ("Asia/Kathmandu", "2026-03-28 10:30", 24.0),  # +05:45
    ("Pacific/Chatham", "2026-09-26 10:30", 23.0),  # +12:45 to +13:45
    ("Pacific/Chatham", "2026-04-04 10:30", 25.0),
    ("Australia/Adelaide", "2026-04-04 10:30", 25.0),
    ("Asia/Beirut", "2026-10-24 10:30", 25.0),  # the hour before midnight comes twice
    ("Africa/Cairo", "2026-10-29 10:30", 25.0),  # likewise
    (
        "America/Havana",
        "2025-11-01 10:30",
        25.0,
    ),  # midnight comes twice (until 2025: later versions of the database differ)
    ("Antarctica/Troll", "2026-03-28 10:30", 22.0),  # two hours at once: the least time between two doses
]


@pytest.mark.parametrize(("zone", "ended", "hours"), SPRINGS)
def test_doses_keep_the_wall_clock_and_the_first_its_24_hours(zone, ended, hours):
    found = plan(zone, ended)
    doses = [dose.at for dose in found.medication[0].doses]
    clinic = dt.datetime.fromisoformat(ended).replace(tzinfo=ZoneInfo(zone)).astimezone(UTC) - dt.timedelta(hours=1)
    assert doses[0] - clinic == dt.timedelta(hours=24)  # exactly, whatever the clock did
    clocks = {each[-5:] for each in local(doses, zone)}
    assert len(clocks) == 1
    begun = dt.datetime.fromisoformat(ended) - dt.timedelta(hours=1)
    shown = dt.datetime.fromisoformat(f"{ended[:4]}-{local(doses[:1], zone)[0]}")
    changed_in_the_first_night = shown - begun != dt.timedelta(hours=24)
    apart = {(later - earlier) / dt.timedelta(hours=1) for earlier, later in pairwise(doses)}
    assert changed_in_the_first_night == (hours != 24.0)
    assert apart == {24.0}


@pytest.mark.parametrize(("zone", "ended", "hours"), SPRINGS)
def test_a_change_between_two_doses_makes_them_longer_or_shorter_apart(zone, ended, hours):
    day_before = dt.datetime.fromisoformat(ended) - dt.timedelta(days=1)
    doses = [dose.at for dose in plan(zone, f"{day_before:%Y-%m-%d %H:%M}").medication[0].doses]
    assert {each[-5:] for each in local(doses, zone)} == {"09:30"}
    assert (doses[1] - doses[0]) / dt.timedelta(hours=1) == hours


@pytest.mark.parametrize(("zone", "ended", "_hours"), SPRINGS)
def test_check_ins_reviews_and_restrictions_stand_at_their_clock_time(zone, ended, _hours):
    found = plan(zone, ended)
    day_0 = dt.datetime.fromisoformat(ended).date()
    later = [each for each in found.check_ins if each.day > 0]
    assert {each[-5:] for each in local([each.at for each in later], zone)} == {"07:30", "18:30"}
    for each in later:
        assert (each.at.astimezone(ZoneInfo(zone)).date() - day_0).days == each.day
    for day, at in [(3, found.wound_reviews[0].at), (10, found.wound_reviews[1].at), (14, found.sign_off_at)]:
        assert local([at], zone) == [f"{day_0 + dt.timedelta(days=day):%m-%d} 12:00"]
    assert {each[-5:] for each in local([each.until for each in found.restrictions], zone)} == {"12:00"}


def test_an_owner_who_wakes_at_a_midnight_that_does_not_exist():
    """Santiago, 6 September 2026: 00:00 is skipped, so waking is 01:00 on the clock, and nothing is asked before."""
    hours = OwnerHours(ZoneInfo("America/Santiago"), wakes=dt.time(0), sleeps=dt.time(16))
    waking = hours.wakes_on(dt.date(2026, 9, 6))
    assert waking == dt.datetime(2026, 9, 6, 4, tzinfo=UTC)
    assert f"{hours.local(waking):%H:%M}" == "01:00"
    assert not hours.awake(waking - dt.timedelta(minutes=1))
    assert hours.awake(waking)


def test_an_owner_who_sleeps_at_a_midnight_that_comes_twice_sleeps_at_the_first():
    hours = OwnerHours(ZoneInfo("America/Havana"), wakes=dt.time(7), sleeps=dt.time(0, 30))
    sleeps = hours.sleeps_on(dt.date(2025, 11, 1))  # the clocks go back from 01:00 to 00:00 on 2 November
    assert sleeps == dt.datetime(2025, 11, 2, 4, 30, tzinfo=UTC)
    assert not hours.awake(sleeps)
    again = sleeps + dt.timedelta(hours=1)
    assert f"{hours.local(again):%H:%M}" == "00:30"
    assert not hours.awake(again)  # 00:30 again: asleep for good


def test_an_owl_whose_bedtime_is_skipped_goes_to_bed_by_the_hours_that_there_are():
    """New York, 8 March 2026: 02:30 is skipped, and is 03:30 on the clock (07:30 UTC)."""
    zone = ZoneInfo("America/New_York")
    hours = OwnerHours(zone, wakes=dt.time(10), sleeps=dt.time(2, 30))
    evening = dt.date(2026, 3, 7)
    assert hours.sleeps_on(evening) == dt.datetime(2026, 3, 8, 7, 30, tzinfo=UTC)
    assert f"{hours.local(hours.sleeps_on(evening)):%H:%M}" == "03:30"
    assert hours.bedtime_on(evening) == dt.datetime(2026, 3, 8, 6, 15, tzinfo=UTC)  # 75 minutes before
    found = plan("America/New_York", "2026-03-07 10:30", wakes="10:00", sleeps="02:30")
    assert all(hours.there(each.at) for each in found.check_ins)
    assert all(hours.there(dose.at) for dose in found.medication[0].doses)


def test_a_plan_is_the_same_whatever_zone_its_times_were_written_in():
    case = guinea_pig(home_medication=(meloxicam(),))
    other = ZoneInfo("Asia/Kathmandu")
    moved = replace(
        case,
        surgery_ended_at=case.surgery_ended_at.astimezone(other),
        discharged_at=case.discharged_at.astimezone(other),
    )
    assert plan_of(moved) == plan_of(case)
