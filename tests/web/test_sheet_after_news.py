"""The sheet and the page for a vet when something has happened: a dose held, gone wrong, or given besides the plan."""

from __future__ import annotations

import io
import itertools
import re

import pytest
from django.test import Client
from pypdf import PdfReader

from clinic.models import Role
from followup.models import Dose
from followup.services.links import recipient_for
from followup.services.reply import Incoming, take_reply
from followup.services.revise import Revision, revise
from followup.services.texts import LEFT_TO_RIGHT, after_a_name
from tests import world
from tests.owner_world import Home, move_clock, pip_at_home
from tests.pages import text_of
from tests.web.enrol_form import client
from tests.world import Json, at, facts

pytestmark = pytest.mark.django_db
_number = itertools.count()

DUE = at("10:00", day=1)
"""0.18 ml of 0.5 mg/ml, then and at 10:00 on day 2."""


@pytest.fixture
def pip() -> Home:
    move_clock(at("10:30", day=1))
    return pip_at_home()


def tell(pip: Home, outcome: str, *, now=DUE, **more: str) -> None:
    dose = pip.plan.doses.exclude(state=Dose.State.CANCELLED).get(number=1)
    raw = {"dose": {"id": dose.pk, "outcome": outcome, **more}}
    who = recipient_for(pip.practice, pip.owner, now=now)
    take_reply(pip.plan, Incoming(f"news {next(_number)}", raw), author=who, now=now)


def for_a_vet(pip: Home) -> str:
    return text_of(Client().get(f"{pip.home}for-a-vet/{pip.plan.pk}/"))


def sheet(pip: Home) -> str:
    page = text_of(client(where=pip.practice).get(f"/plans/{pip.plan.pk}/sheet/"))
    return page[: page.index('class="sheet for-a-vet"')]


def printed(pip: Home) -> str:
    answer = client(where=pip.practice).get(f"/plans/{pip.plan.pk}/sheet.pdf")
    pages = PdfReader(io.BytesIO(answer.content)).pages
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))


def test_a_held_medicine_stands_on_no_sheet_with_an_amount(pip):
    assert "0.18 ml</strong> Wed 12 Mar, 10:00" in sheet(pip)
    tell(pip, "twice")
    assert pip.plan.doses.get(number=2).held
    for page in (sheet(pip), printed(pip)):
        assert "Phone us before you give any more of it: a vet decides how it goes on." in page
        assert "The bottle must say" not in page
        assert "10:00 0.18 ml meloxicam: phone us first" in page
    assert '<svg class="syringe"' not in sheet(pip)
    assert "to come (held: a vet decides first)" in for_a_vet(pip)


def test_what_went_wrong_is_told_to_the_emergency_vet(pip):
    tell(pip, "too_much", ml="0.5", given_at=at("09:30", day=1).isoformat())
    page = for_a_vet(pip)
    assert "<td>went wrong: too much, 0.5 ml went in</td>" in page
    assert "Last NSAID: meloxicam, Tue 11 Mar 09:30" in page
    assert "meloxicam again: not before Wed 12 Mar 09:30." in page


def test_given_and_then_given_again(pip):
    """The row stays "given"; the second time is the one that the next painkiller waits for."""
    tell(pip, "given")
    tell(pip, "twice", now=at("10:20", day=1))
    page = for_a_vet(pip)
    assert "<td>given: twice</td>" in page
    assert "meloxicam again: not before Wed 12 Mar 10:20." in page


def test_a_medicine_of_the_owners_stands_among_the_drugs_and_by_the_next_nsaid(pip):
    tell(pip, "other_medicine", what="ibuprofen", given_at=at("08:00", day=1).isoformat())
    page = for_a_vet(pip)
    assert 'ibuprofen<br><span class="amount-given">amount not known</span></th><td>told: not on the plan' in page
    said = "Another medicine was given: ibuprofen, Tue 11 Mar 08:00. It may have been a painkiller"
    assert f"{said}: no NSAID before Wed 12 Mar 08:00." in page


def test_no_nsaid_follows_sooner_than_a_day_after_a_medicine_of_the_owners(pip):
    """Meloxicam at 10:00 would allow the next at 10:00; something of the owner's at 10:25, nobody says when else."""
    tell(pip, "given")
    tell(pip, "other_medicine", now=at("10:25", day=1))
    page = for_a_vet(pip)
    assert "nobody knows which, Tue 11 Mar 10:25" in page
    assert "meloxicam again: not before Wed 12 Mar 10:25. Another NSAID: not before Wed 12 Mar 10:25." in page


def test_nothing_known_of_the_clinic_counts_from_the_end_of_surgery():
    move_clock(at("16:31"))
    pip = pip_at_home(home_medication=[])
    case = pip.plan.case
    del case["given_in_clinic"]
    pip.plan.save()
    page = for_a_vet(pip)
    assert "it may have been an NSAID. No NSAID before Tue 11 Mar 10:30." in page
    assert "No NSAID is known" not in page


def test_every_dose_has_its_milligrams_and_an_old_strength_is_not_reckoned_with_the_new(pip):
    tell(pip, "given")
    assert "0.18 ml of 0.5 mg/ml (0.09 mg, 0.1 mg/kg)" in for_a_vet(pip)
    stronger = facts()["home_medication"][0] | {"mg_per_ml": 1.5, "days": 4}
    revise_to(pip, stronger)
    page = for_a_vet(pip)
    assert "0.18 ml of 0.5 mg/ml (0.1 mg/kg)" in page  # what was given then
    assert "0.06 ml of 1.5 mg/ml (0.09 mg, 0.1 mg/kg)" in page
    assert "version 2 of the plan" in page
    assert "The bottle must say: <strong>1.5 mg/ml</strong>" in sheet(pip)
    assert "0.18 ml</strong> Wed" not in sheet(pip)


def test_a_course_that_is_over_says_so_and_no_more(pip):
    move_clock(at("23:30", day=2))
    assert "No dose is left: give no more of it." in sheet(pip)
    assert "The bottle must say" not in sheet(pip)
    assert "No dose is left: give no more of it." in printed(pip)


@pytest.mark.parametrize("name", ["מרפאת שלג", "عيادة"])
def test_digits_keep_their_order_behind_a_name_from_right_to_left(pip, name):
    """Without the mark a reader sees the groups the other way round: 960100 01632."""
    for who in (pip.practice, pip.owner):
        who.name = name
        who.save()
    seen = printed(pip)  # as it stands on paper, from left to right
    assert f"{LEFT_TO_RIGHT}01632 960100 :" in seen
    assert "960100 01632" not in seen
    assert f"<bdi>{name}</bdi>: <strong" in sheet(pip)
    assert f"Owner: {name}, {LEFT_TO_RIGHT}07" in for_a_vet(pip)


def test_a_number_behind_a_latin_name_has_no_mark():
    assert after_a_name("Žofka", "01632 960100") == "01632 960100"


def test_the_emergency_vet_has_both_numbers_and_the_year(pip):
    page = for_a_vet(pip)
    assert "01632 960100" in page
    assert "When we are closed, Night vets for guinea pigs: 01632 960200" in page
    assert "Made Tue 11 Mar 2025 10:30" in page


def test_the_number_of_queries_does_not_grow_with_the_doses(pip, django_assert_num_queries):
    course = facts()["home_medication"][0] | {"drug": "gabapentin", "mg_per_kg": 10, "mg_per_ml": 50}
    many = pip_at_home("oak-lane", home_medication=[course | {"every_hours": 8, "days": 14}])
    assert many.plan.doses.count() > 10 * pip.plan.doses.count()
    for each in (pip, many):
        staff = client(Role.VET, each.practice)
        with django_assert_num_queries(SHEET):
            staff.get(f"/plans/{each.plan.pk}/sheet.pdf")
        with django_assert_num_queries(FOR_A_VET):
            Client().get(f"{each.home}for-a-vet/{each.plan.pk}/file/")


SHEET, FOR_A_VET = 26, 13
"""Queries: the sheet as PDF with its session and member; the page for a vet behind a link."""


def revise_to(pip: Home, *medication: Json) -> None:
    pip.plan.refresh_from_db()
    asked = Revision("Another bottle.", pip.plan.version, medicines=medication)
    revise(pip.plan, asked, staff=world.staff(pip.practice, Role.VET), now=at("10:30", day=1))
    pip.plan.refresh_from_db()
    assert pip.plan.version == 2
