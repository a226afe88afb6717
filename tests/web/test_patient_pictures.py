"""The patient's page with its pictures: named for a screen reader, the numbers below, and as many queries as ever."""

from __future__ import annotations

import datetime as dt
import html
import json
import re
from xml.etree import ElementTree

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from followup.domain.terms import DoseOutcome
from followup.models import Dose, Plan
from followup.services.cover_picture import cover_picture
from followup.services.facts import case_of, compiled_of
from tests import world
from tests.owner_world import move_clock
from tests.pages import text_of
from tests.web.test_patient_page import address, visitor
from tests.world import at

pytestmark = pytest.mark.django_db

MOST_QUERIES = 35
"""However many doses, weighings and answers there are."""


@pytest.fixture
def plan() -> Plan:
    move_clock(at("12:00", day=1))
    return world.running_plan()


def test_both_pictures_have_a_title_words_and_their_numbers(plan):
    shown = text_of(visitor(plan).get(address("patient", plan.pk)))
    for words in (
        'role="img" aria-labelledby="cover-title cover-desc"',
        "meloxicam, from the end of surgery to Thu 13 Mar 10:00. No gap.",
        "blood level is low by then",
        'role="img" aria-labelledby="weight-title weight-desc"',
        "Newest: 900 g on day 0, clinic, 0 % against the discharge",
        "monitor 855 g",
    ):
        assert words in shown


def test_a_patient_without_painkiller_is_said_so(plan):
    bare = world.running_plan(where=plan.practice, given_in_clinic=[], home_medication=[])
    shown = text_of(visitor(bare).get(address("patient", bare.pk)))
    assert "No painkiller is known, in the clinic or at home." in shown


def test_the_page_asks_as_often_for_a_long_recovery_as_for_a_short_one(plan):
    staff, page = visitor(plan), address("patient", plan.pk)
    few = _queries(staff, page)
    for number in range(3, 30):
        dose = plan.doses.latest("number")
        dose.pk, dose.number, dose.at = None, number, dose.at + dt.timedelta(hours=24)
        dose.save()
        plan.patient.weights.create(grams=900 - number, at=dose.at)
    assert _queries(staff, page) == few <= MOST_QUERIES


LONG = "carprofen-and-everything-else-that-was-written-on-the-label"


def _fortnight(plan: Plan) -> Plan:
    """Every outcome there is, a dose held, weighings at home."""
    longer = world.facts()["home_medication"][0] | {"days": 14}
    found = world.running_plan(where=plan.practice, home_medication=[longer])
    for number, outcome in enumerate(DoseOutcome, 1):
        found.doses.filter(number=number).update(state=Dose.State.REPORTED, outcome=outcome)
    found.doses.filter(number=8).update(held=True)
    for day in range(1, 12):
        found.patient.weights.create(grams=900 - 7 * day, at=at("08:00", day=day), at_home=True)
    return found


def _with_a_long_name(plan: Plan) -> Plan:
    plan.compiled = json.loads(json.dumps(plan.compiled).replace("meloxicam", LONG))
    plan.save(update_fields=["compiled"])
    plan.doses.update(drug=LONG)
    return plan


def _nothing(plan: Plan) -> Plan:
    bare = world.running_plan(where=plan.practice, given_in_clinic=[], home_medication=[])
    bare.patient.weights.all().delete()
    return bare


STATES = [lambda plan: plan, _fortnight, _with_a_long_name, _nothing]


def _pictures(plan: Plan) -> list[ElementTree.Element]:
    page = visitor(plan).get(address("patient", plan.pk)).content.decode()
    found = re.findall(r'<svg viewBox="0 0 360 .*?</svg>', page, re.DOTALL)
    return [ElementTree.fromstring(re.sub(r"&(?!amp;|lt;|gt;|quot;)\w+;", "", each)) for each in found]  # noqa: S314 - our own page


@pytest.mark.parametrize("state", STATES)
def test_nothing_stands_outside_its_picture(plan, state):
    for picture in _pictures(state(plan)):
        _, _, wide, tall = map(float, picture.attrib["viewBox"].split())
        for box in picture.iter("rect"):
            if "transform" not in box.attrib and "x" in box.attrib and float(box.attrib["x"]) >= 0:
                assert float(box.attrib["x"]) + float(box.attrib["width"]) <= wide
                assert 0 <= float(box.attrib["y"]) <= tall - float(box.attrib["height"])
        for words in picture.iter("text"):
            assert 0 < float(words.attrib["x"]) < wide
            assert 10 < float(words.attrib["y"]) <= tall - 3
            if words.attrib.get("text-anchor") is None:  # bold letters of 12 are at most about 8.4 wide
                assert float(words.attrib["x"]) + 7.4 * len(words.text or "") < wide, words.text


@pytest.mark.parametrize("state", STATES)
def test_every_picture_is_named_and_described_once(plan, state):
    pictures = _pictures(state(plan))
    assert pictures
    for picture in pictures:
        named = picture.attrib["aria-labelledby"].split()
        there = [each.attrib["id"] for each in picture.iter() if each.tag in {"title", "desc"}]
        assert named == there
        assert all((each.text or "").strip() for each in picture.iter() if each.tag in {"title", "desc"})


def test_each_dose_of_a_fortnight_has_its_mark_and_its_row(plan):
    found = _fortnight(plan)
    shown = html.unescape(text_of(visitor(found).get(address("patient", found.pk))))
    picture = cover_picture(case_of(found), compiled_of(found), found.doses.all(), now=at("12:00", day=1))
    assert picture is not None
    marks = [mark for strip in picture.drawing.strips for lane in strip.lanes for mark in lane.marks]
    assert len(marks) == 14
    cover = shown[: shown.index("weight-title")]
    assert re.findall(r'<g transform="translate\(([^)]*)\)', cover) == [f"{mark.x:.1f} {mark.y:.1f}" for mark in marks]
    rows = re.findall(r'<th scope="row">meloxicam, dose (\d+)</th><td>([^<]*)</td>', shown)
    assert [int(number) for number, _ in rows] == list(range(1, 15))
    assert [known for _, known in rows[:8]] == [
        "given", "missed", "refused", "spat out", "vomited", "went wrong", "to come", "held: a vet decides",
    ]  # fmt: skip


def test_a_name_too_long_for_the_picture_stands_whole_in_the_table(plan):
    shown = text_of(visitor(_with_a_long_name(plan)).get(address("patient", plan.pk)))
    assert f"{LONG[:37]}…</text>" in shown
    assert f'<th scope="row">{LONG}, dose 1</th>' in shown


def test_before_the_first_weighing_the_lines_stand_alone(plan):
    bare = _nothing(plan)
    shown = text_of(visitor(bare).get(address("patient", bare.pk)))
    assert "Not weighed since the operation." in shown
    assert "Weights, in numbers" not in shown
    assert "urgent 810 g" in shown


@pytest.mark.parametrize(("days", "opened"), [(2, 2), (14, 1)])
def test_a_short_table_stands_open_and_a_long_one_is_folded(plan, days, opened):
    course = world.facts()["home_medication"][0] | {"days": days}
    found = world.running_plan(where=plan.practice, home_medication=[course])
    shown = text_of(visitor(found).get(address("patient", found.pk)))
    assert shown.count("<details open> <summary>") == opened


def _queries(staff, page: str) -> int:
    with CaptureQueriesContext(connection) as asked:
        assert staff.get(page).status_code == 200
    return len(asked)
