"""The moment at which the level would rise by itself, against looking at every minute of two days.

Over any recovery of any species, also across both clock changes.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from followup.domain.answers import Question
from followup.domain.observation import Observation, Told
from followup.domain.recovery import Recovery
from followup.domain.terms import Level, Procedure, Sign, Species
from followup.domain.triage import findings_at, triage
from tests.domain.any_recovery import moments, recoveries
from tests.domain.every_case import case_of
from tests.domain.triage_cases import clock, recovery, when
from tests.examples import examples

MINUTE = dt.timedelta(minutes=1)
TWO_DAYS = 48 * 60


def level_at(known: Recovery, moment: dt.datetime) -> Level:
    return max((each.level for each in findings_at(known, moment)), default=Level.ON_TRACK)


def first_rise(known: Recovery, now: dt.datetime) -> dt.datetime | None:
    """Looked for at every minute."""
    level = level_at(known, now)
    every = (now + ahead * MINUTE for ahead in range(1, TWO_DAYS + 1))
    return next((moment for moment in every if level_at(known, moment) > level), None)


def same(foretold: dt.datetime | None, found: dt.datetime | None, now: dt.datetime) -> bool:
    """Whether both name one minute; what lies beyond the two days that were looked at is not compared."""
    if found is None:
        return foretold is None or foretold > now + TWO_DAYS * MINUTE
    return foretold is not None and found - MINUTE < foretold <= found


@settings(max_examples=examples(6), deadline=None)
@given(st.data())
def test_no_minute_is_earlier_or_later(data):
    whole = data.draw(recoveries(most=4, latest=4 * 24 * 60))
    now = data.draw(moments(whole, latest=6 * 24 * 60))
    known = whole.until(now)

    assert same(triage(whole, now).look_again_at, first_rise(known, now), now)


@pytest.mark.parametrize("species", list(Species))
@pytest.mark.parametrize("home", [6, 20])
def test_a_patient_nobody_has_heard_of(species, home):
    known = recovery(case_of(species, Procedure.SPAY))
    now = known.case.surgery_ended_at + dt.timedelta(hours=home)

    assert same(triage(known, now).look_again_at, first_rise(known, now), now)


@pytest.mark.parametrize(("hour", "foretold"), [("23 20:00", "24 07:00"), ("24 20:00", None), ("25 00:30", None)])
def test_nothing_is_foretold_beyond_day_fourteen(hour, foretold):
    """Day 14 is the 24th; a cat without urine for 13 hours would be urgent eleven hours later."""
    now = when(hour)
    last = now - dt.timedelta(hours=13)
    told = Observation(
        at=now,
        answers={Question.URINE: "none", Question.APPETITE: "normal", Question.FAECES: "normal"},
        told={Sign.URINE: Told.exactly(last)},
    )
    well = [
        Observation(at=now - dt.timedelta(hours=ago), answers={Question.APPETITE: "normal"}) for ago in (1, 30, 60, 90)
    ]
    case = case_of(Species.CAT, Procedure.SPAY)
    known = recovery(replace(case, last_urine_before_discharge_at=None), [*well, told])
    found = triage(known, now).next_rise_at

    assert clock(found) == foretold
