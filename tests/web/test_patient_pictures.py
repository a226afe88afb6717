"""The patient's page with its pictures: named for a screen reader, the numbers below, and as many queries as ever."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from followup.models import Plan
from tests import world
from tests.owner_world import move_clock
from tests.pages import text_of
from tests.web.test_patient_page import address, visitor
from tests.world import at

pytestmark = pytest.mark.django_db

MOST_QUERIES = 34
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


def _queries(staff, page: str) -> int:
    with CaptureQueriesContext(connection) as asked:
        assert staff.get(page).status_code == 200
    return len(asked)
