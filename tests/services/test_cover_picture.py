"""Where things stand in the picture of painkillers at work, and that the table says the same."""

from __future__ import annotations

import datetime as dt
from itertools import pairwise

import pytest

from followup.domain.terms import DoseOutcome
from followup.models import Dose, Plan
from followup.services.cover_picture import MARKS, CoverPicture, cover_picture
from followup.services.facts import case_of, compiled_of
from followup.services.picture_axis import LEFT, RIGHT, WIDTH, Axis
from tests.recoveries import LONDON, guinea_pig
from tests.world import at, facts, running_plan

pytestmark = pytest.mark.django_db

INNER = WIDTH - LEFT - RIGHT
SPAN = dt.timedelta(hours=71.5)
"""From 10:30 on the day of surgery to a day after the dose of 10:00 on day 2."""


@pytest.fixture
def plan() -> Plan:
    return running_plan()


def drawn(plan: Plan, now: dt.datetime) -> CoverPicture:
    rows = plan.doses.exclude(state=Dose.State.CANCELLED)
    found = cover_picture(case_of(plan), compiled_of(plan), rows, now=now)
    assert found is not None
    return found


def told(plan: Plan, number: int, outcome: str, *, given_at: dt.datetime | None = None) -> None:
    plan.doses.filter(number=number).update(state=Dose.State.REPORTED, outcome=outcome, given_at=given_at)


def x(hours: float) -> float:
    """Where a moment stands, so many hours after the end of surgery."""
    return round(LEFT + hours / (SPAN / dt.timedelta(hours=1)) * INNER, 1)


def test_every_bar_stands_where_its_hours_say(plan):
    """Meloxicam in a guinea pig: solid for 12 h, hatched to 24; the clinic's of 10:00 began before the picture."""
    (lane,) = drawn(plan, at("17:00")).lanes
    assert [(bar.look, bar.x) for bar in lane.bars] == [
        ("solid", x(0)),
        ("low", x(11.5)),
        ("to_come", x(23.5)),
        ("low", x(35.5)),
        ("to_come", x(47.5)),
        ("low", x(59.5)),
    ]
    assert lane.bars[-1].x + lane.bars[-1].width == pytest.approx(WIDTH - RIGHT, abs=0.1)
    assert all(bar.width > 0 for bar in lane.bars)


def test_a_rabbits_is_solid_to_its_end():
    (lane,) = drawn(running_plan("rabbit"), at("17:00")).lanes
    assert {bar.look for bar in lane.bars} == {"solid", "to_come"}


@pytest.mark.parametrize(
    ("outcome", "kind"),
    [("given", "given"), ("refused", "not_given"), ("spat_out", "not_given"), ("missed", "not_given"),
     ("vomited", "not_given"), ("went_wrong", "wrong")],
)  # fmt: skip
def test_what_became_of_a_dose_is_marked_at_its_time(plan, outcome, kind):
    told(plan, 1, outcome, given_at=at("11:00", day=1) if outcome == "given" else None)
    first = drawn(plan, at("12:00", day=1)).lanes[0].marks[0]
    assert first.kind == kind
    assert first.x == x(24.5 if outcome == "given" else 23.5)


@pytest.mark.parametrize(("now", "kind"), [(at("21:59", day=1), "to_come"), (at("22:00", day=1), "untold")])
def test_a_dose_of_which_nobody_told(plan, now, kind):
    assert drawn(plan, now).lanes[0].marks[0].kind == kind


def test_a_held_dose(plan):
    plan.doses.update(held=True)
    assert {mark.kind for mark in drawn(plan, at("12:00", day=1)).lanes[0].marks} == {"held"}


@pytest.mark.parametrize("outcome", ["refused", "missed", "spat_out", "vomited"])
def test_a_dose_that_was_not_taken_leaves_a_gap(plan, outcome):
    told(plan, 1, outcome)
    shown = drawn(plan, at("22:30", day=1))
    (gap,) = shown.gaps
    assert gap.x == x(23.5)
    assert gap.width == pytest.approx(x(47.5) - x(23.5), abs=0.1)
    assert ("no painkiller at work", "Tue 11 Mar 10:00", "Wed 12 Mar 10:00", "gap") in [
        (line.what, line.starts, line.ends, line.known) for line in shown.lines
    ]
    assert "No painkiller at work: Tue 11 Mar 10:00 to Wed 12 Mar 10:00." in shown.description


def test_a_last_dose_that_was_not_taken_leaves_a_gap_to_the_end_of_its_interval(plan):
    told(plan, 2, "missed")
    shown = drawn(plan, at("22:30", day=2))
    assert "No painkiller at work: Wed 12 Mar 10:00 to Thu 13 Mar 10:00." in shown.description
    (gap,) = shown.gaps
    assert gap.x == x(47.5)
    assert gap.width == pytest.approx(x(71.5) - x(47.5), abs=0.1)


def test_a_drug_that_works_for_less_than_its_interval_leaves_a_gap_after_its_last_dose_too():
    """Buprenorphine works for 6 h at least and is given every 8: 2 h are left after each, as in the plan."""
    course = facts()["home_medication"][0] | {
        "drug": "buprenorphine", "mg_per_kg": 0.03, "mg_per_ml": 0.3, "every_hours": 8, "days": 1, "route": "cheek",
    }  # fmt: skip
    plan = running_plan(home_medication=[course])
    shown, planned = drawn(plan, at("16:30")), compiled_of(plan).cover.gaps
    last = plan.doses.latest("at").at
    assert planned[-1].ends == last + dt.timedelta(hours=8)
    assert len(shown.gaps) == len(planned)
    zone = case_of(plan).hours.zone
    assert f"{planned[-1].starts.astimezone(zone):%H:%M} to" in shown.description


def test_no_gap_is_said_in_words(plan):
    shown = drawn(plan, at("17:00"))
    assert (shown.gaps, "No gap." in shown.description) == ((), True)


def test_the_table_has_every_bar_in_order(plan):
    told(plan, 1, "given", given_at=at("11:00", day=1))
    lines = drawn(plan, at("12:00", day=1)).lines
    assert [(line.what, line.starts) for line in lines] == [
        ("meloxicam", "Mon 10 Mar 10:00"),
        ("no painkiller at work", "Tue 11 Mar 10:00"),
        ("meloxicam", "Tue 11 Mar 11:00"),
        ("meloxicam", "Wed 12 Mar 10:00"),
    ]
    assert "blood level low from Mon 22:00" in lines[0].known


def test_now_stands_where_it_is_and_nowhere_when_it_is_past_the_end(plan):
    assert drawn(plan, at("22:30")).now_x == x(12)
    assert drawn(plan, at("12:00", day=9)).now_x is None


def test_the_legend_names_what_is_drawn_and_nothing_else(plan):
    told(plan, 1, "given", given_at=at("10:00", day=1))
    shown = drawn(plan, at("12:00", day=1))
    assert [kind for kind, _ in shown.legend] == ["given", "to_come"]
    assert [look for look, _ in shown.looks] == ["solid", "low", "to_come"]


def test_a_medicine_that_is_no_painkiller_has_no_lane():
    other = facts()["home_medication"][0] | {
        "drug": "metoclopramide",
        "mg_per_kg": 0.5,
        "every_hours": 12,
        "mg_per_ml": 1,
    }
    plan = running_plan(home_medication=[*facts()["home_medication"], other])
    assert [lane.drug for lane in drawn(plan, at("17:00")).lanes] == ["meloxicam"]


def test_nothing_known_is_no_picture():
    plan = running_plan(given_in_clinic=[], home_medication=[])
    assert cover_picture(case_of(plan), compiled_of(plan), [], now=at("17:00")) is None


def test_days_begin_at_the_owners_midnight_also_when_the_clocks_change():
    case = guinea_pig(surgery_ended_at=dt.datetime(2025, 3, 29, 10, 30, tzinfo=LONDON))
    axis = Axis(case.surgery_ended_at, case.surgery_ended_at + dt.timedelta(hours=71))
    found = axis.days(case)
    assert [tick.label for tick in found] == ["0", "1", "2", "3"]
    assert found[2].x - found[1].x == pytest.approx(23 / 71 * INNER, abs=0.15)
    assert found[3].x - found[2].x == pytest.approx(24 / 71 * INNER, abs=0.15)


@pytest.mark.parametrize(("days", "last"), [(3, "3"), (14, "14"), (60, "60")])
def test_labels_never_touch(days, last):
    case = guinea_pig()
    ticks = Axis(case.surgery_ended_at, case.surgery_ended_at + dt.timedelta(days=days, hours=8)).days(case)
    labelled = [tick for tick in ticks if tick.label]
    assert all(b.label_x - a.label_x >= 16 for a, b in pairwise(labelled))  # two digits are about 14 wide
    assert labelled[-1].label == last


def test_every_outcome_has_a_mark():
    assert set(MARKS) == set(DoseOutcome)
