"""An urgent case: by when the owner is spoken to, and who is told when. Source: clinical defaults, 1.

The practice is open Monday to Friday 08:00 to 18:30, Saturday to noon; the owner is awake 07:00 to 22:00, in London.
10 March 2025 is a Monday; the clocks go forward on Sunday 30 March and back on Sunday 26 October.
"""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from followup.domain.advice import Line, Moment, call_by
from followup.domain.hours import OwnerHours
from followup.domain.spans import Span, common, span
from followup.domain.terms import Species
from followup.domain.urgent import UNSEEN_FOR, Watch, Whom, speak_by
from tests.recoveries import LONDON, at, clock

HOURS = OwnerHours(LONDON)
FIRST_EVENING, DAY_FIVE = dt.timedelta(hours=9), dt.timedelta(hours=120)
HOUR = dt.timedelta(hours=1)
CAT, GUINEA_PIG, RABBIT = Species.CAT, Species.GUINEA_PIG, Species.RABBIT


def opening(first: str, days: int = 8) -> tuple[Span, ...]:
    """The practice's week from a date on."""
    begins = dt.date.fromisoformat(first)
    found = []
    for day in (begins + dt.timedelta(days=ahead) for ahead in range(days)):
        if day.weekday() < 6:
            closes = dt.time(18, 30) if day.weekday() < 5 else dt.time(12)
            opens, over = (dt.datetime.combine(day, each, LONDON) for each in (dt.time(8), closes))
            found.append(span(opens, over))
    return tuple(each for each in found if each is not None)


def on_call(*shifts: tuple[str, str]) -> tuple[Span, ...]:
    found = (span(at(starts), at(ends)) for starts, ends in shifts)
    return tuple(each for each in found if each is not None)


def watch(
    since: str,
    species: Species = CAT,
    *,
    week: str = "2025-03-10",
    rota: tuple[Span, ...] = (),
    day: dt.timedelta = DAY_FIVE,
) -> Watch:
    begins, hours = at(since).astimezone(dt.UTC), opening(week)
    by = speak_by(begins, hours, HOURS, species=species, since_surgery=day)
    return Watch(begins, by, hours, rota, HOURS)


@pytest.mark.parametrize(
    ("since", "species", "day", "by"),
    [
        ("2025-03-10 09:00", CAT, FIRST_EVENING, "03-10 13:00"),  # four hours, all of them open
        ("2025-03-10 17:00", CAT, FIRST_EVENING, "03-10 22:00"),  # 12 h end at 05:00: the bedtime before
        ("2025-03-10 20:00", CAT, FIRST_EVENING, "03-11 08:00"),
        ("2025-03-10 20:45", CAT, FIRST_EVENING, "03-11 08:45"),
        ("2025-03-11 05:00", CAT, FIRST_EVENING, "03-11 12:00"),  # four hours from opening on
        ("2025-03-10 14:00", RABBIT, FIRST_EVENING, "03-10 18:00"),
        ("2025-03-10 17:00", GUINEA_PIG, FIRST_EVENING, "03-10 22:00"),
        ("2025-03-10 20:45", GUINEA_PIG, FIRST_EVENING, "03-10 22:00"),  # before the owner's bedtime the same day
        ("2025-03-10 20:45", GUINEA_PIG, DAY_FIVE, "03-11 08:45"),  # only in the first 72 hours
        ("2025-03-15 11:00", RABBIT, DAY_FIVE, "03-15 22:00"),  # Saturday: one hour of opening is left, none on Sunday
        ("2025-03-16 15:00", CAT, DAY_FIVE, "03-16 22:00"),  # Sunday: 12 h end at 03:00
        ("2025-03-10 23:30", CAT, DAY_FIVE, "03-11 11:30"),  # told at night: 12 hours, no bedtime lies ahead of it
    ],
)
def test_by_when_the_owner_has_been_spoken_to(since, species, day, by):
    assert clock(watch(since, species, day=day).by) == by


@pytest.mark.parametrize(
    ("since", "first", "then"),
    [
        ("2025-03-10 09:00", "03-10 10:00", "03-10 11:00"),  # an hour unseen, and every hour the next person
        ("2025-03-11 06:00", "03-11 09:00", "03-11 10:00"),  # the hour runs from opening
        ("2025-03-10 20:15", "03-11 08:00", "03-11 08:15"),  # 15 minutes of opening are left: at once, then the limit
        ("2025-03-10 17:50", "03-10 17:50", "03-10 22:00"),  # 40 minutes are left before the owner sleeps
    ],
)
def test_in_opening_hours_it_is_seen_within_an_hour_or_the_next_person_is_told(since, first, then):
    known = watch(since)

    assert (clock(known.first_alert()), known.whom(known.first_alert())) == (first, Whom.ON_DUTY)
    assert clock(known.next_alert(known.first_alert())) == then


def test_without_opening_in_time_whoever_is_on_call_is_told_at_once_while_the_owner_is_awake():
    known = watch("2025-03-16 15:00", rota=on_call(("2025-03-15 12:00", "2025-03-17 08:00")))

    assert (known.first_alert(), known.whom(known.first_alert())) == (known.since, Whom.ON_CALL)
    assert clock(known.next_alert(known.first_alert())) == "03-16 16:00"


def test_a_shift_that_begins_in_time_is_waited_for():
    known = watch("2025-03-16 15:00", rota=on_call(("2025-03-16 18:00", "2025-03-17 08:00")))

    assert clock(known.first_alert()) == "03-16 18:00"


def test_at_night_nobody_on_call_is_woken_for_what_can_wait_until_the_owner_wakes():
    known = watch("2025-03-15 23:30", rota=on_call(("2025-03-15 12:00", "2025-03-17 08:00")))

    assert (clock(known.by), clock(known.first_alert())) == ("03-16 11:30", "03-16 07:00")


def test_with_opening_in_time_nobody_on_call_is_told_in_the_evening():
    known = watch("2025-03-10 20:45", rota=on_call(("2025-03-10 18:30", "2025-03-11 08:00")))

    assert clock(known.first_alert()) == "03-11 08:00"


def test_a_guinea_pig_in_its_first_days_never_waits_for_the_next_opening():
    rota = on_call(("2025-03-10 18:30", "2025-03-11 08:00"))
    known = watch("2025-03-10 20:45", GUINEA_PIG, rota=rota, day=FIRST_EVENING)

    assert (known.first_alert(), known.whom(known.since)) == (known.since, Whom.ON_CALL)
    assert clock(known.next_alert(known.since)) == "03-10 21:45"
    assert clock(known.next_alert(at("2025-03-10 21:45"))) == "03-10 22:00"  # the limit


def test_nobody_here_and_nobody_on_call_tells_the_owner_at_once_and_staff_when_it_opens():
    known = watch("2025-03-10 20:45", GUINEA_PIG, day=FIRST_EVENING)

    assert (known.first_alert(), known.whom(known.since)) == (known.since, Whom.THE_OWNER)
    assert clock(known.next_alert(known.since)) == "03-11 08:00"


def test_at_the_limit_everyone_is_told_and_every_hour_after_it():
    known = watch("2025-03-10 09:00")

    assert [known.how_many(known.by - HOUR, 2), known.how_many(known.by, 3)] == [3, None]
    assert clock(known.next_alert(at("2025-03-10 12:30"))) == "03-10 13:00"
    assert clock(known.next_alert(known.by)) == "03-10 14:00"
    assert clock(known.next_alert(at("2025-03-10 18:00"))) == "03-11 08:30"  # half an hour today, half tomorrow


WEEKEND = on_call(("2025-03-14 18:30", "2025-03-17 08:00"))


@pytest.mark.parametrize(
    ("due", "now", "until"),
    [
        ("2025-03-15 19:00", "2025-03-16 02:00", "03-16 07:00"),  # an outage; the owner wakes at 7
        ("2025-03-15 19:00", "2025-03-16 07:00", None),
        ("2025-03-15 21:59", "2025-03-15 22:30", None),  # no outage: a tick that came late
        ("2025-03-15 20:00", "2025-03-15 21:30", None),  # on call, and he may still be rung
        ("2025-03-12 10:00", "2025-03-12 12:00", None),  # they are there
    ],
)
def test_an_alert_that_an_outage_has_delayed_into_the_owners_night_wakes_nobody(due, now, until):
    begins = at("2025-03-12 09:00").astimezone(dt.UTC)
    known = Watch(begins, begins + HOUR, opening("2025-03-10"), WEEKEND, HOURS)
    found = known.put_off(at(due), at(now))

    assert (found and clock(found)) == until


def test_what_is_not_over_yet_or_has_nobody_to_come_goes_at_once_however_late():
    begins = at("2025-03-15 19:00").astimezone(dt.UTC)

    assert Watch(begins, at("2025-03-16 07:00").astimezone(dt.UTC), (), WEEKEND, HOURS).put_off(
        begins, at("2025-03-16 02:00")
    ) is None  # fmt: skip
    assert Watch(begins, begins + HOUR, (), (), HOURS).put_off(begins, at("2025-03-16 02:00")) is None


def test_with_neither_hours_nor_rota_it_is_looked_at_again_all_the_same():
    begins = at("2025-03-10 09:00").astimezone(dt.UTC)
    known = Watch(begins, begins + 12 * HOUR, (), (), HOURS)

    assert known.first_alert() == begins
    assert known.next_alert(begins) == begins + 12 * HOUR


@pytest.mark.parametrize(
    ("since", "week", "by"),
    [
        # 29 March 2025, 20:00 + 12 h of real time: the clock shows 09:00, and it is Sunday, closed
        ("2025-03-29 20:00", "2025-03-29", "03-30 09:00"),
        # 25 October 2025, 20:00 + 12 h: the clock has gone back, 07:00
        ("2025-10-25 20:00", "2025-10-25", "10-26 07:00"),
        # bedtime is by the clock: 22:00 on the day of the change itself, whatever the hours were
        ("2025-03-30 15:00", "2025-03-29", "03-30 22:00"),
        ("2025-10-26 15:00", "2025-10-25", "10-26 22:00"),
    ],
)
def test_the_limit_is_real_hours_and_bedtime_is_the_clocks_over_both_changes(since, week, by):
    assert clock(watch(since, week=week).by) == by


@pytest.mark.parametrize(
    ("zone_night", "opens", "by"),
    [
        ("2025-03-29 23:30", dt.time(0, 30), "03-30 05:30"),  # four real hours from 00:30, one of which the clock skips
        ("2025-10-25 23:30", dt.time(0, 30), "10-26 03:30"),  # and one of which it shows twice
    ],
)
def test_opening_time_is_counted_in_real_hours_where_a_clock_change_lies_in_it(zone_night, opens, by):
    """A clinic that is open at night; the owner keeps its hours."""
    night = OwnerHours(LONDON, wakes=dt.time(20), sleeps=dt.time(12))
    since = at(zone_night).astimezone(dt.UTC)
    day = dt.date.fromisoformat(zone_night[:10]) + dt.timedelta(days=1)
    hours = span(dt.datetime.combine(day, opens, LONDON), dt.datetime.combine(day, dt.time(10), LONDON))
    assert hours is not None

    assert clock(speak_by(since, (hours,), night, species=CAT, since_surgery=DAY_FIVE)) == by


MINUTES = st.integers(0, 14 * 24 * 60)
SPECIES = st.sampled_from(list(Species))
SHIFTS = st.lists(st.tuples(MINUTES, st.integers(30, 16 * 60)), max_size=8)
BEGINS = st.sampled_from(["2025-03-10 00:00", "2025-03-24 00:00", "2025-10-20 00:00"])


@st.composite
def watches(draw: st.DrawFn) -> tuple[Watch, Species, dt.timedelta]:
    monday = at(draw(BEGINS)).astimezone(dt.UTC)
    since = monday + draw(MINUTES) * dt.timedelta(minutes=1)
    hours = OwnerHours(LONDON, draw(st.sampled_from([dt.time(5), dt.time(7), dt.time(9)])), draw(
        st.sampled_from([dt.time(20), dt.time(22), dt.time(1)])
    ))  # fmt: skip
    week = opening(monday.astimezone(LONDON).date().isoformat(), days=30)
    spans = [(monday + begin * dt.timedelta(minutes=1), long) for begin, long in draw(SHIFTS)]
    rota = tuple(Span(starts, starts + long * dt.timedelta(minutes=1)) for starts, long in spans)
    species, age = draw(SPECIES), dt.timedelta(hours=draw(st.integers(0, 200)))
    by = speak_by(since, week, hours, species=species, since_surgery=age)
    return Watch(since, by, week, rota, hours), species, age


@given(watches())
def test_nobody_waits_longer_than_twelve_hours_or_four_of_opening(made):
    known, _species, _age = made
    open_until_then = common(known.opening, _between(known.since, known.by))

    assert known.since <= known.by <= known.since + 12 * HOUR
    assert sum((each.length for each in open_until_then), dt.timedelta(0)) <= 4 * HOUR


@given(watches())
def test_somebody_is_always_told_before_the_limit_and_then_without_end(made):
    known, _species, _age = made
    last = known.first_alert()

    assert known.since <= last <= known.by
    for _ in range(20):
        following = known.next_alert(last)
        assert last < following
        last = following


@given(watches())
def test_the_owner_himself_is_told_only_when_nobody_is_there_in_time(made):
    known, _species, _age = made
    first = known.first_alert()
    if known.whom(first) is Whom.THE_OWNER:
        in_time = _between(known.since, known.by)
        assert first == known.since
        assert common(known.opening, in_time) == ()


@given(watches())
def test_people_who_are_there_have_an_hour_to_see_it_unless_less_is_left(made):
    known, _species, _age = made
    first = known.first_alert()
    opened = common(known.opening, _between(known.since, known.by))
    if opened and first != opened[0].starts:
        seen = common(known.opening, _between(known.since, first))
        assert sum((each.length for each in seen), dt.timedelta(0)) == UNSEEN_FOR


@given(watches())
def test_what_the_owner_is_told_to_keep_is_never_later_than_what_staff_have_to_keep(made):
    known, species, age = made
    inside = next((each for each in known.opening if each.holds(known.since)), None)
    following = next((each for each in known.opening if each.starts > known.since), None)
    line = Line("The practice", "+441632960001")
    moment = Moment(
        known.since, line, line, inside.ends if inside else None, following.starts if following else None, on_call=False
    )
    told = call_by(moment, known.hours, species=species, since_surgery=age).by

    assert told is None or told <= known.by


def _between(starts: dt.datetime, ends: dt.datetime) -> tuple[Span, ...]:
    found = span(starts, ends)
    return () if found is None else (found,)
