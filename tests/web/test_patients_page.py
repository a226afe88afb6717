"""Finding a patient again: by what is typed, narrowed down, fifty on a page, with the same few queries."""

from __future__ import annotations

import datetime as dt

import pytest

from clinic.models import Owner, Patient, Role
from followup.models import Plan
from followup.services.patient_search import ROWS, Wanted, search
from tests import world
from tests.owner_world import EVENING, move_clock
from tests.pages import text_of

pytestmark = pytest.mark.django_db
PAGE = "/patients/"
QUERIES = 8


@pytest.fixture
def pip():
    move_clock(EVENING)
    plan = world.running_plan()
    Owner.objects.filter(pk=plan.patient.owner_id).update(name="Ada O'Field", mobile="+447700900123")
    return plan


@pytest.fixture
def desk(client, pip):
    client.force_login(world.staff(pip.practice, Role.FRONT_DESK))
    return client


def named(plan: Plan, patient: str, owner: str = "") -> Plan:
    Patient.objects.filter(pk=plan.patient_id).update(name=patient)
    if owner:
        Owner.objects.filter(pk=plan.patient.owner_id).update(name=owner)
    return plan


def found(practice, **wanted) -> list[str]:
    return [plan.patient.name for plan in search(practice, Wanted(**wanted), page="1")]


@pytest.mark.parametrize(
    ("words", "finds"),
    [("pip", True), ("o'field", True), ("ada pip", True), ("ada hazel", False), ("07700 900123", True),
     ("900 123", True), ("+44 7700", True), ("", True), ("%", False), ("_", False)],
)  # fmt: skip
def test_each_word_must_be_in_a_name_or_a_number(pip, words, finds):
    assert found(pip.practice, words=words) == (["Pip"] if finds else [])


def test_a_name_in_another_script_and_a_very_long_one_are_found(pip):
    named(world.running_plan("rabbit", where=pip.practice), "أرنب", "يارا")
    named(world.running_plan(where=pip.practice), "L" * 80)

    assert found(pip.practice, words="أرنب") == ["أرنب"]
    assert found(pip.practice, words="l" * 80) == ["L" * 80]


def test_every_filter_narrows(pip):
    rabbit = named(
        world.running_plan("rabbit", where=pip.practice, day=pip.operated_on + dt.timedelta(days=2)), "Clover"
    )
    Plan.objects.filter(pk=rabbit.pk).update(level=3)
    practice = pip.practice

    assert found(practice) == ["Clover", "Pip"], "the newest first"
    assert found(practice, species="rabbit") == found(practice, level=3) == ["Clover"]
    assert found(practice, procedure=rabbit.procedure) == ["Clover"]
    assert found(practice, level=0) == ["Pip"]
    assert found(practice, since=rabbit.operated_on) == ["Clover"]
    assert found(practice, until=pip.operated_on) == ["Pip"]
    assert found(practice, state="closed") == []


def test_another_practice_is_not_searched(pip, desk):
    named(world.running_plan(where=world.practice("oak-lane")), "Stranger")

    assert found(pip.practice, words="Stranger") == []
    assert "Stranger" not in text_of(desk.get(PAGE))


def test_fifty_on_a_page_and_the_filter_stays_in_the_links(pip, desk):
    for number in range(ROWS + 1):
        named(world.running_plan(where=pip.practice), f"Twin {number}")

    first = text_of(desk.get(PAGE, {"words": "twin"}))
    assert f"<strong>{ROWS + 1}</strong> follow-ups, page 1 of 2" in first
    assert "?words=twin&amp;page=2" in first
    assert text_of(desk.get(PAGE, {"words": "twin", "page": "2"})).count('class="row"') == 1
    for page in ("0", "-1", "999", "x"):
        assert desk.get(PAGE, {"page": page}).status_code == 200


@pytest.mark.parametrize("many", [1, 12])
def test_the_page_asks_the_database_as_often_however_many_there_are(pip, desk, many, django_assert_num_queries):
    for _ in range(many):
        world.running_plan(where=pip.practice)
    desk.get(PAGE)
    with django_assert_num_queries(QUERIES):
        desk.get(PAGE)


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"since": "2025-03-10", "until": "2025-03-01"}, "This is before the first day."),
        ({"since": "yesterday"}, "Write a day, such as"),
        ({"species": "dragon"}, "dragon"),
    ],
)
def test_what_cannot_be_looked_for_is_said_at_its_field(desk, asked, said):
    response = desk.get(PAGE, asked)

    assert response.status_code == 200
    assert said in text_of(response)


def test_nobody_fits_and_nobody_there_are_said_differently(pip, desk, client):
    assert "Nobody fits" in text_of(desk.get(PAGE, {"words": "zebra"}))
    client.force_login(world.staff(world.practice("oak-lane"), Role.VET))
    assert "No patient yet" in text_of(client.get(PAGE))
