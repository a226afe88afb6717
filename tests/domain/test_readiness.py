"""A follow-up closes when nothing stands open, on day 14 or later; else the page says every reason."""

from __future__ import annotations

import datetime as dt

import pytest

from followup.domain.readiness import Standing, reasons_against

DAY_13, DAY_14, DAY_15 = dt.date(2025, 3, 23), dt.date(2025, 3, 24), dt.date(2025, 3, 25)


def standing(today: dt.date = DAY_14, **open_things) -> Standing:
    return Standing(today=today, closes_on=DAY_14, **open_things)


@pytest.mark.parametrize("today", [DAY_14, DAY_15])
def test_nothing_stands_against_a_quiet_recovery_from_day_14_on(today):
    assert reasons_against(standing(today)) == ()


@pytest.mark.parametrize(
    ("open_things", "said"),
    [
        ({"open_flags": ("eating, urgent",)}, "eating, urgent"),
        ({"reviews": (10,)}, "wound review of day 10"),
        ({"words_unread": 1}, "1 reply waits"),
        ({"words_unread": 2}, "2 replies wait"),
        ({"paused": "in a clinic"}, "in a clinic"),
        ({"today": DAY_13}, "Monday 24 March"),
        ({"waits_for_vet": True}, "has not confirmed"),
        ({"ended": True}, "ended already"),
    ],
)
def test_each_thing_that_stands_open_is_named(open_things, said):
    (reason,) = reasons_against(standing(**open_things))

    assert said in reason


def test_every_reason_is_given_at_once_so_that_nobody_comes_back_five_times():
    reasons = reasons_against(
        standing(DAY_13, open_flags=("wound, urgent", "eating, monitor"), reviews=(3, 10), words_unread=1)
    )

    assert len(reasons) == 2 + 2 + 1 + 1


def test_a_plan_that_waits_or_has_ended_has_no_other_reason():
    assert len(reasons_against(standing(DAY_13, reviews=(3,), waits_for_vet=True))) == 1
    assert len(reasons_against(standing(DAY_13, reviews=(3,), ended=True))) == 1
