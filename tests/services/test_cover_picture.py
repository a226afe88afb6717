"""Where things stand in the picture of painkillers at work, and that the table says the same."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest
from django.template.loader import render_to_string

from clinic.models import Role
from followup.domain.terms import DoseOutcome
from followup.drawing.axis import LEFT, RIGHT
from followup.drawing.cover import GapBox, Lane, Look, Sign
from followup.models import Dose, Plan
from followup.services.cover_picture import FEW, LOOK_WORDS, SIGN_WORDS, SIGNS, CoverPicture, cover_picture
from followup.services.facts import case_of, compiled_of
from followup.services.revise import Revision, revise
from tests.world import at, facts, running_plan, staff

pytestmark = pytest.mark.django_db

INNER = RIGHT - LEFT
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


def lanes(picture: CoverPicture) -> tuple[Lane, ...]:
    """Of a picture that is one strip."""
    (strip,) = picture.drawing.strips
    return strip.lanes


def gaps(picture: CoverPicture) -> tuple[GapBox, ...]:
    (strip,) = picture.drawing.strips
    return strip.gaps


def told(plan: Plan, number: int, outcome: str, *, given_at: dt.datetime | None = None) -> None:
    plan.doses.filter(number=number).update(state=Dose.State.REPORTED, outcome=outcome, given_at=given_at)


def x(hours: float) -> float:
    """Where a moment stands, so many hours after the end of surgery."""
    return round(LEFT + hours / (SPAN / dt.timedelta(hours=1)) * INNER, 1)


def test_every_bar_stands_where_its_hours_say(plan):
    """Meloxicam in a guinea pig: solid for 12 h, hatched to 24; the clinic's of 10:00 began before the picture."""
    (lane,) = lanes(drawn(plan, at("17:00")))
    assert [(bar.look, bar.x) for bar in lane.bars] == [
        ("solid", x(0)),
        ("low", x(11.5)),
        ("to_come", x(23.5)),
        ("low", x(35.5)),
        ("to_come", x(47.5)),
        ("low", x(59.5)),
    ]
    assert lane.bars[-1].x + lane.bars[-1].width == pytest.approx(RIGHT, abs=0.1)
    assert all(bar.width > 0 for bar in lane.bars)


def test_a_rabbits_is_solid_to_its_end():
    (lane,) = lanes(drawn(running_plan("rabbit"), at("17:00")))
    assert {bar.look for bar in lane.bars} == {"solid", "to_come"}


@pytest.mark.parametrize(
    ("outcome", "kind"),
    [("given", "given"), ("refused", "refused"), ("spat_out", "half"), ("missed", "missed"), ("vomited", "half"),
     ("went_wrong", "wrong")],
)  # fmt: skip
def test_what_became_of_a_dose_is_marked_at_its_time(plan, outcome, kind):
    told(plan, 1, outcome, given_at=at("11:00", day=1) if outcome == "given" else None)
    first = lanes(drawn(plan, at("12:00", day=1)))[0].marks[0]
    assert first.sign == kind
    assert first.x == x(24.5 if outcome == "given" else 23.5)


@pytest.mark.parametrize(("now", "kind"), [(at("21:59", day=1), "to_come"), (at("22:00", day=1), "untold")])
def test_a_dose_of_which_nobody_told(plan, now, kind):
    assert lanes(drawn(plan, now))[0].marks[0].sign == kind


def test_a_held_dose(plan):
    plan.doses.update(held=True)
    shown = drawn(plan, at("12:00", day=1))
    assert {mark.sign for mark in lanes(shown)[0].marks} == {"held"}
    assert [line.known for line in shown.lines if "dose" in line.what] == ["held: a vet decides"] * 2


@pytest.mark.parametrize("unsure", ["untold", "held", "went_wrong"])
def test_a_dose_that_is_not_sure_leaves_a_gap_that_is_not_sure(plan, unsure):
    """It stays a question in picture, words and table: neither "no gap" nor a gap."""
    if unsure == "went_wrong":
        told(plan, 1, "went_wrong")
    plan.doses.filter(number=1).update(held=unsure == "held")
    shown = drawn(plan, at("22:30", day=1))
    assert [(gap.sure, gap.x) for gap in gaps(shown)] == [(False, x(23.5))]
    assert (shown.gap, shown.perhaps) == (False, True)
    said = "Perhaps none, if a dose that is not sure does not work: Tue 11 Mar 10:00 to Wed 12 Mar 10:00."
    assert f"No gap. {said}" in shown.description
    assert ("perhaps no painkiller at work", "Tue 11 Mar 10:00", "Wed 12 Mar 10:00") in [
        (line.what, line.when, line.until) for line in shown.lines
    ]
    assert [bar.look for bar in lanes(shown)[0].bars if not bar.sure] == ["perhaps", "low"]


def test_what_the_clinic_gave_is_not_known(plan):
    """It may cover until 24 h after the end of surgery, 10:30 the next day; nobody can say that there is a gap."""
    unknown = replace(case_of(plan), given_in_clinic=None)
    shown = cover_picture(unknown, compiled_of(plan), plan.doses.all(), now=at("17:00"))
    assert shown is not None
    assert (shown.gap, shown.perhaps) == (False, True)
    (gap,) = gaps(shown)
    assert gap.x == x(0)
    assert gap.x + gap.width == pytest.approx(x(23.5), abs=0.1)
    assert "What the clinic gave is not known." in shown.description


@pytest.mark.parametrize("outcome", ["refused", "missed", "spat_out", "vomited"])
def test_a_dose_that_was_not_taken_leaves_a_gap(plan, outcome):
    told(plan, 1, outcome)
    shown = drawn(plan, at("22:30", day=1))
    (gap,) = gaps(shown)
    assert (gap.x, gap.sure) == (x(23.5), True)
    assert gap.width == pytest.approx(x(47.5) - x(23.5), abs=0.1)
    table = [(line.when, line.what, line.known, line.until) for line in shown.lines]
    assert ("Tue 11 Mar 10:00", "no painkiller at work", "gap", "Wed 12 Mar 10:00") in table
    assert ("Tue 11 Mar 10:00", "meloxicam, dose 1", outcome.replace("_", " "), "") in table
    assert "No painkiller at work: Tue 11 Mar 10:00 to Wed 12 Mar 10:00." in shown.description


def test_a_last_dose_that_was_not_taken_leaves_a_gap_to_the_end_of_its_interval(plan):
    told(plan, 1, "given")
    told(plan, 2, "missed")
    shown = drawn(plan, at("22:30", day=2))
    assert "No painkiller at work: Wed 12 Mar 10:00 to Thu 13 Mar 10:00." in shown.description
    (gap,) = gaps(shown)
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
    assert len(gaps(shown)) == len(planned)
    zone = case_of(plan).hours.zone
    assert f"{planned[-1].starts.astimezone(zone):%H:%M} to" in shown.description


def test_no_gap_is_said_in_words(plan):
    shown = drawn(plan, at("17:00"))
    assert (gaps(shown), shown.gap, shown.perhaps, "No gap." in shown.description) == ((), False, False, True)


def test_the_table_has_every_dose_and_gap_in_order(plan):
    told(plan, 1, "given", given_at=at("11:00", day=1))
    lines = drawn(plan, at("12:00", day=1)).lines
    assert [(line.when, line.what, line.known, line.until) for line in lines] == [
        ("Mon 10 Mar 10:00", "meloxicam, in the clinic", "given", "Tue 11 Mar 10:00; blood level low from Mon 22:00"),
        ("Tue 11 Mar 10:00", "no painkiller at work", "gap", "Tue 11 Mar 11:00"),
        ("Tue 11 Mar 11:00", "meloxicam, dose 1", "given", "Wed 12 Mar 11:00; blood level low from Tue 23:00"),
        ("Wed 12 Mar 10:00", "meloxicam, dose 2", "to come", "Thu 13 Mar 10:00; blood level low from Wed 22:00"),
    ]


def test_now_stands_where_it_is_and_nowhere_when_it_is_past_the_end(plan):
    (strip,) = drawn(plan, at("22:30")).drawing.strips
    assert strip.now is not None
    assert strip.now.x == x(12)
    assert drawn(plan, at("22:30")).now is True
    assert drawn(plan, at("12:00", day=9)).now is False


def test_the_legend_names_what_is_drawn_and_nothing_else(plan):
    told(plan, 1, "given", given_at=at("10:00", day=1))
    shown = drawn(plan, at("12:00", day=1))
    assert [kind for kind, _ in shown.signs] == ["given", "to_come"]
    assert [look for look, _ in shown.looks] == ["solid", "low", "to_come"]


def test_a_fortnight_stands_in_strips_and_its_table_is_folded(plan):
    assert drawn(plan, at("17:00")).few
    course = facts()["home_medication"][0] | {"days": 14}
    shown = drawn(running_plan(where=plan.practice, home_medication=[course]), at("17:00"))
    assert [[tick.label for tick in strip.days] for strip in shown.drawing.strips] == [
        ["0", "1", "2", "3"], ["4", "5", "6", "7"], ["8", "9", "10", "11"], ["12", "13", "14", "15"],
    ]  # fmt: skip
    assert sum(len(strip.lanes[0].marks) for strip in shown.drawing.strips) == 14
    assert (len(shown.lines) > FEW, shown.few) == (True, False)


def test_nothing_at_home_is_covered_by_the_clinic_alone():
    shown = drawn(running_plan(home_medication=[]), at("17:00"))
    assert [(line.what, line.until[:16]) for line in shown.lines] == [("meloxicam, in the clinic", "Tue 11 Mar 10:00")]


def test_a_stopped_medicine_keeps_what_was_given_of_it(plan):
    told(plan, 1, "given", given_at=at("10:00", day=1))
    vet = staff(plan.practice, Role.VET)
    revise(plan, Revision(because="Sore stomach.", version=1, keeps={}), staff=vet, now=at("12:00", day=1))
    plan.refresh_from_db()
    shown = drawn(plan, at("12:30", day=1))
    assert [(line.what, line.known) for line in shown.lines] == [
        ("meloxicam, in the clinic", "given"),
        ("meloxicam, dose 1", "given"),
    ]
    assert [mark.sign for mark in lanes(shown)[0].marks] == ["given"]


def test_a_medicine_that_is_no_painkiller_has_no_lane():
    other = facts()["home_medication"][0] | {
        "drug": "metoclopramide",
        "mg_per_kg": 0.5,
        "every_hours": 12,
        "mg_per_ml": 1,
    }
    plan = running_plan(home_medication=[*facts()["home_medication"], other])
    assert [lane.drug for lane in lanes(drawn(plan, at("17:00")))] == ["meloxicam"]


def test_nothing_known_is_no_picture():
    plan = running_plan(given_in_clinic=[], home_medication=[])
    assert cover_picture(case_of(plan), compiled_of(plan), [], now=at("17:00")) is None


def test_everything_that_can_be_drawn_has_a_shape_and_a_word():
    assert set(SIGNS) == set(DoseOutcome)
    assert set(SIGN_WORDS) == set(Sign)
    assert set(LOOK_WORDS) == set(Look)
    shapes = {sign: render_to_string("followup/staff/_dose_mark.svg", {"kind": sign}).strip() for sign in Sign}
    assert len(set(shapes.values())) == len(Sign)
