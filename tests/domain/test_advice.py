"""Which number answers, by when, and what may be promised. Clock times are the owner's, in London."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest

from followup.domain.advice import (
    Answering,
    Line,
    Moment,
    Seen,
    call_by,
    latest_for_urgent,
    who_sees_it,
    whom_to_call,
    worse_while_asleep,
)
from followup.domain.hours import OwnerHours
from followup.domain.terms import Level, Species
from tests.recoveries import LONDON, at, clock

PRACTICE = Line("Meadow Lane", "+441632960001", address="1 Meadow Lane")
NIGHT_VET = Line("Night vets", "+441632960100", "+441632960101", "9 Harbour Road")
HOURS = OwnerHours(LONDON)
FIRST_EVENING = dt.timedelta(hours=9)
DAY_FIVE = dt.timedelta(hours=120)


def moment(now: str, *, closes: str = "", opens: str = "2025-03-11 08:00", on_call: bool = False) -> Moment:
    return Moment(
        now=at(now),
        practice=PRACTICE,
        provider=NIGHT_VET,
        closes=at(closes) if closes else None,
        opens=at(opens) if opens else None,
        on_call=on_call,
    )


OPEN = moment("2025-03-10 16:00", closes="2025-03-10 18:30")
NIGHT = moment("2025-03-10 20:45")


def test_the_practice_answers_while_it_is_open_with_the_night_vet_behind_it():
    call = whom_to_call(OPEN)

    assert (call.answering, call.line.phone) == (Answering.PRACTICE, PRACTICE.phone)
    assert call.line.second_phone == NIGHT_VET.phone


def test_at_night_the_vet_for_this_species_answers_with_a_second_number_and_an_address():
    assert whom_to_call(NIGHT).line == NIGHT_VET


def test_without_a_provider_nobody_is_known_and_that_is_said():
    assert whom_to_call(replace(NIGHT, provider=None)).answering is Answering.NOBODY_KNOWN


@pytest.mark.parametrize(
    ("when", "species", "since", "by"),
    [
        # a grazer in its first 72 hours: before bedtime, 22:00, although 12 hours would be 08:45
        ("2025-03-10 20:45", Species.GUINEA_PIG, FIRST_EVENING, "03-10 22:00"),
        ("2025-03-10 08:00", Species.RABBIT, FIRST_EVENING, "03-10 20:00"),  # 08:00 + 12 h, before bedtime
        ("2025-03-15 20:45", Species.GUINEA_PIG, DAY_FIVE, "03-16 08:45"),  # later: 12 hours
        ("2025-03-10 20:45", Species.CAT, FIRST_EVENING, "03-11 08:45"),
        ("2025-03-11 02:00", Species.GUINEA_PIG, FIRST_EVENING, "03-11 14:00"),  # asleep: no bedtime lies ahead of it
    ],
)
def test_by_when_an_urgent_case_is_spoken_to(when, species, since, by):
    assert clock(latest_for_urgent(at(when), HOURS, species=species, since_surgery=since)) == by


@pytest.mark.parametrize(
    ("now", "species", "answering", "by", "waits"),
    [
        (OPEN, Species.GUINEA_PIG, Answering.PRACTICE, "03-10 18:30", False),  # closing comes before 16:00 + 4 h
        (NIGHT, Species.GUINEA_PIG, Answering.PROVIDER, "03-10 22:00", False),  # we open only after bedtime
        (NIGHT, Species.CAT, Answering.PRACTICE, "03-11 08:45", True),  # we open at 08:00, 12 hours end at 08:45
        (moment("2025-03-10 21:40"), Species.RABBIT, Answering.PROVIDER, None, False),  # 20 minutes to bedtime: now
        (moment("2025-03-11 06:00"), Species.RABBIT, Answering.PRACTICE, "03-11 12:00", True),  # 08:00 + 4 h
        (moment("2025-03-14 20:00", opens=""), Species.CAT, Answering.PROVIDER, "03-15 08:00", False),
    ],
)
def test_whom_an_owner_with_an_urgent_case_rings(now, species, answering, by, waits):
    call = call_by(now, HOURS, species=species, since_surgery=FIRST_EVENING)

    assert (call.answering, call.waits) == (answering, waits)
    assert (clock(call.by) if call.by else None) == by


@pytest.mark.parametrize(
    ("now", "level", "seen"),
    [
        (OPEN, Level.EMERGENCY, Seen.AT_ONCE),
        (NIGHT, Level.EMERGENCY, Seen.AT_OPENING),  # nobody on call: a vet was not alerted, and we do not say so
        (replace(NIGHT, on_call=True), Level.EMERGENCY, Seen.ON_CALL),
        (replace(NIGHT, on_call=True), Level.MONITOR, Seen.AT_OPENING),
        (replace(NIGHT, opens=None), Level.URGENT, Seen.NOT_KNOWN),
    ],
)
def test_what_may_be_promised(now, level, seen):
    assert who_sees_it(now, level) is seen


@pytest.mark.parametrize(
    ("level", "by_day", "seen"),
    [
        (Level.URGENT, True, Seen.ON_CALL),
        (Level.URGENT, False, Seen.AT_OPENING),  # it opens in time, or he sleeps: whoever is on call is not alerted yet
        (Level.MONITOR, True, Seen.AT_OPENING),
    ],
)
def test_an_urgent_case_that_no_opening_reaches_in_time_is_for_whoever_is_on_call(level, by_day, seen):
    assert who_sees_it(replace(NIGHT, on_call=True), level, by_day=by_day) is seen


@pytest.mark.parametrize(
    ("now", "rises", "named"),
    [
        ("2025-03-10 20:46", "2025-03-11 02:00", True),
        ("2025-03-10 20:46", "2025-03-10 22:00", True),  # the moment of sleep itself
        ("2025-03-10 20:46", "2025-03-10 21:59", False),  # he is awake: we tell him then
        ("2025-03-10 20:46", "2025-03-11 07:00", False),
        ("2025-03-10 23:30", "2025-03-11 02:00", False),  # he sleeps; the night rule decides
        ("2025-03-10 20:46", None, False),
    ],
)
def test_an_hour_of_the_coming_night_is_named_in_the_evening(now, rises, named):
    moment_of_it = at(rises) if rises else None

    assert worse_while_asleep(moment_of_it, at(now), HOURS) == (moment_of_it if named else None)
