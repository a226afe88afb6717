"""A typed time that is still to come or was before the operation is asked about."""

from __future__ import annotations

import datetime as dt

import pytest

from followup.domain.odd_times import BEFORE, YESTERDAY, doubt_about_time
from tests.recoveries import at, guinea_pig

CASE = guinea_pig()
OPERATED = at("2025-03-10 11:30")


@pytest.mark.parametrize(
    ("typed", "now", "sentences", "may_stand"),
    [
        ("14:30", "2025-03-10 18:30", None, None),
        ("18:30", "2025-03-10 18:30", None, None),
        ("23:00", "2025-03-10 18:30", (BEFORE,), False),
        ("11:29", "2025-03-10 18:30", (BEFORE,), False),
        ("11:30", "2025-03-10 18:30", None, None),
        ("23:00", "2025-03-11 07:30", None, None),
        ("14:00", "2025-03-11 07:30", None, None),
        ("12:59", "2025-03-11 07:00", (YESTERDAY,), True),
        ("20:00", "2025-03-11 18:30", (YESTERDAY,), True),
        ("01:00", "2025-03-11 20:00", None, None),
        ("10:00", "2025-03-11 09:59", (BEFORE,), False),
        ("soon", "2025-03-11 07:30", None, None),
    ],
)
def test_what_is_asked_of_a_typed_time(typed, now, sentences, may_stand):
    doubt = doubt_about_time(typed, at(now), CASE.hours, since=OPERATED)

    assert (doubt and doubt.sentences, doubt and doubt.may_stand) == (sentences, may_stand)


def test_the_sentence_names_both_times():
    doubt = doubt_about_time("20:00", at("2025-03-11 18:30"), CASE.hours, since=OPERATED)

    assert doubt is not None
    said = "It is 18:30 now, so 20:00 was yesterday. Is that right? Send it again to say yes."
    assert YESTERDAY % doubt.words == said


@pytest.mark.parametrize("changes", [dt.date(2025, 3, 30), dt.date(2025, 10, 26)])
def test_on_the_day_of_a_change_of_the_clocks_a_time_is_todays_as_ever(changes):
    now = CASE.hours.instant(changes, dt.time(9))

    assert doubt_about_time("08:00", now, CASE.hours, since=now - dt.timedelta(days=2)) is None
    later = doubt_about_time("10:00", now, CASE.hours, since=now - dt.timedelta(days=2))
    assert later is not None
    assert later.may_stand
