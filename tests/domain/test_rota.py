"""The rota: how long a shift lasts, when nobody is on call, whether there is night cover. Clock times are London's."""

from __future__ import annotations

import datetime as dt
import itertools
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from followup.domain.rota import Written, by_day, change_within, has_night_cover, holes, instant
from followup.domain.spans import Span, held, joined
from followup.domain.terms import FollowUpError
from tests.domain.test_urgent import opening
from tests.recoveries import LONDON, at, clock

HOUR, DAY = dt.timedelta(hours=1), dt.timedelta(days=1)
MONDAY = dt.date(2025, 3, 10)


def night(day: str, zone: ZoneInfo = LONDON) -> Span:
    """From 20:00 to 08:00."""
    first = dt.date.fromisoformat(day)
    return Written(first, dt.time(20), first + DAY, dt.time(8)).span(zone)


def window(first: str, days: int = 7) -> Span:
    return Span(at(f"{first} 00:00").astimezone(dt.UTC), at(f"{first} 00:00").astimezone(dt.UTC) + days * DAY)


@pytest.mark.parametrize(
    ("day", "hours", "change"),
    [("2025-03-10", 12, 0), ("2025-03-29", 11, 1), ("2025-10-25", 13, -1)],
)
def test_a_night_ends_at_eight_by_the_clock_whatever_the_clocks_do_in_it(day, hours, change):
    found = night(day)

    assert clock(found.ends).endswith("08:00")
    assert (found.length, change_within(found, LONDON)) == (hours * HOUR, change * HOUR)


def test_repeated_over_a_clock_change_it_keeps_its_clock_times():
    first = Written(dt.date(2025, 3, 22), dt.time(20), dt.date(2025, 3, 23), dt.time(8))
    spans = [first.weeks_later(week).span(LONDON) for week in range(3)]

    assert [clock(each.starts) for each in spans] == ["03-22 20:00", "03-29 20:00", "04-05 20:00"]
    assert [each.length for each in spans] == [12 * HOUR, 11 * HOUR, 12 * HOUR]


def test_a_time_that_the_clock_skips_is_no_time_and_is_said_at_its_field():
    skipped = Written(dt.date(2025, 3, 30), dt.time(1, 30), dt.date(2025, 3, 30), dt.time(8))

    with pytest.raises(FollowUpError, match="01:30 does not exist on Sunday 30 March") as refusal:
        skipped.span(LONDON)
    assert refusal.value.field == "starts"


def test_a_time_that_the_clock_shows_twice_makes_the_longer_shift():
    day = dt.date(2025, 10, 26)

    from_it = Written(day, dt.time(1, 30), day, dt.time(8)).span(LONDON)
    until_it = Written(day - DAY, dt.time(20), day, dt.time(1, 30)).span(LONDON)
    assert (from_it.length, until_it.length) == (7.5 * HOUR, 6.5 * HOUR)


@pytest.mark.parametrize(
    ("last_day", "ends", "said"),
    [
        (MONDAY, dt.time(20), "ends before it starts"),
        (MONDAY - DAY, dt.time(23), "ends before it starts"),
        (MONDAY + 8 * DAY, dt.time(8), "a week at most"),
    ],
)
def test_a_mistyped_date_is_refused_at_its_field(last_day, ends, said):
    with pytest.raises(FollowUpError, match=said) as refusal:
        Written(MONDAY, dt.time(20), last_day, ends).span(LONDON)
    assert refusal.value.field == "last_day"


def test_a_hole_is_what_neither_opening_hours_nor_anybody_covers():
    found = holes([night("2025-03-10"), night("2025-03-12")], opening("2025-03-10"), window("2025-03-10", 4))

    assert [(clock(each.starts), clock(each.ends)) for each in found] == [
        ("03-10 00:00", "03-10 08:00"),
        ("03-10 18:30", "03-10 20:00"),
        ("03-11 18:30", "03-12 08:00"),
        ("03-12 18:30", "03-12 20:00"),
        ("03-13 18:30", "03-14 00:00"),
    ]


@pytest.mark.parametrize(("day", "hours"), [("2025-03-29", 19), ("2025-10-25", 21)])
def test_a_hole_over_a_clock_change_has_its_real_length(day, hours):
    """Saturday noon to Sunday 08:00 by the clock, in a week in which Sunday's opening is at eight."""
    first = dt.date.fromisoformat(day)
    sunday = Written(first + DAY, dt.time(8), first + DAY, dt.time(12)).span(LONDON)
    (found, *_) = holes([], [*opening(day, 1), sunday], Span(at(f"{day} 12:00").astimezone(dt.UTC), sunday.ends))

    assert found.length == hours * HOUR


@pytest.mark.parametrize(
    ("shifts", "there"),
    [
        ((), False),
        ((Written(MONDAY, dt.time(18, 30), MONDAY, dt.time(22)),), False),  # evenings only
        ((Written(MONDAY, dt.time(7), MONDAY, dt.time(8)),), False),  # mornings only
        ((Written(MONDAY, dt.time(20), MONDAY, dt.time(23)),), True),
        ((Written(MONDAY, dt.time(20), MONDAY + DAY, dt.time(8)),), True),
    ],
)
def test_night_cover_is_somebody_on_call_in_any_closed_night(shifts, there):
    spans = [each.span(LONDON) for each in shifts]

    assert has_night_cover(spans, opening("2025-03-10"), window("2025-03-10"), LONDON) is there


def test_a_clinic_that_never_closes_needs_nobody_on_call():
    always = window("2025-03-09", 10)

    assert has_night_cover([], [always], window("2025-03-10"), LONDON)
    assert holes([], [always], window("2025-03-10")) == ()


BEGINS = st.sampled_from(["2025-03-10", "2025-03-27", "2025-10-23"])
SHIFTS = st.lists(st.tuples(st.integers(0, 6), st.integers(0, 23), st.integers(1, 30)), max_size=10)


@given(BEGINS, SHIFTS)
def test_every_moment_is_open_covered_or_in_a_hole_and_never_both(begins, drawn):
    whole, hours = window(begins), opening(begins, 9)
    first = dt.date.fromisoformat(begins)
    starts = [(instant(first + day * DAY, dt.time(hour), ZoneInfo("UTC")), long) for day, hour, long in drawn]
    shifts = [Span(begin, begin + long * HOUR) for begin, long in starts]
    found = holes(shifts, hours, whole)

    assert found == joined(found)
    assert all(a.ends < b.starts for a, b in itertools.pairwise(found))
    moment = whole.starts
    while moment < whole.ends:
        covered = held(shifts, moment) or held(hours, moment)
        assert held(found, moment) is not covered
        moment += dt.timedelta(minutes=30)


@given(BEGINS, SHIFTS)
def test_the_holes_of_the_days_are_the_holes_of_the_week(begins, drawn):
    whole, first = window(begins), dt.date.fromisoformat(begins)
    shifts = [
        Span(begin, begin + long * HOUR)
        for day, hour, long in drawn
        for begin in [instant(first + day * DAY, dt.time(hour), ZoneInfo("UTC"))]
    ]
    found = holes(shifts, opening(begins, 9), whole)
    days = [by_day(found, first + number * DAY, LONDON) for number in range(9)]

    assert sum((each.length for day in days for each in day), dt.timedelta(0)) == sum(
        (each.length for each in found), dt.timedelta(0)
    )


@given(
    st.dates(dt.date(2024, 1, 1), dt.date(2027, 12, 31)),
    st.times(dt.time(3), dt.time(23, 59)).map(lambda each: each.replace(second=0, microsecond=0)),
    st.sampled_from(["Europe/London", "America/New_York", "Australia/Lord_Howe", "UTC"]),
)
def test_an_instant_shows_the_clock_time_it_was_written_as(day, time, name):
    zone = ZoneInfo(name)

    assert instant(day, time, zone).astimezone(zone).replace(tzinfo=None) == dt.datetime.combine(day, time)
