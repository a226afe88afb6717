"""The sheet on paper must hold when every message fails; and it does not exist before a vet has confirmed."""

from __future__ import annotations

import html
import re

import pytest
from django.test import Client

from clinic.models import Role
from followup.models import Plan
from followup.services.enrol import enrol
from followup.services.links import url_of
from tests import world
from tests.owner_world import move_clock
from tests.web.enrol_form import client
from tests.world import at

pytestmark = pytest.mark.django_db


def sheet(plan: Plan, who: Client | None = None) -> str:
    return html.unescape((who or client()).get(f"/plans/{plan.pk}/sheet/").content.decode())


@pytest.fixture
def waiting():
    request = world.recovery()
    del request.facts["home_medication"]
    return enrol(request, staff=world.staff(request.practice, Role.NURSE), now=at("16:30"))


def test_it_says_who_what_and_how_much():
    move_clock(at("16:31"))
    page = sheet(world.running_plan())

    assert "<strong>Pip</strong> (guinea pig, 900 g): castration, finished Monday 10 March 2025, 10:30." in page
    assert "meloxicam 0.5 mg/ml" in page
    assert page.count('<strong class="amount">0.18 ml</strong>') == 2
    assert "By mouth. Prescribed by Vet of Elm Street Clinic." in page
    assert "Measure with an oral syringe of 1 ml." in page


def test_it_has_both_numbers_the_red_flags_and_what_to_do_without_messages():
    page = sheet(world.running_plan())

    assert "01632 960100" in page
    assert "01632 960200" in page
    assert "(or 01632 960209)" in page
    assert "eats nothing, or leaves no droppings, for longer than 6 hours" in page
    assert "If no message comes, look anyway" in page
    assert "It does not replace your vet" in page


def test_it_has_the_days_to_remember():
    page = sheet(world.running_plan())

    assert [day for day in ("Day 3, Thu 13 Mar", "Day 10, Thu 20 Mar", "Day 14, Mon 24 Mar") if day not in page] == []
    assert "until Mon 21 Apr" in page


def test_its_qr_code_is_drawn_in_the_page_and_leads_to_the_owner_s_page():
    plan = world.running_plan()
    page = sheet(plan)

    assert re.search(r'<img src="data:image/svg\+xml', page)
    assert url_of(plan.patient.owner.recipients.get()) in page


def test_before_a_vet_there_is_no_sheet_and_no_link(waiting):
    page = sheet(waiting)

    assert "Waiting for a vet" in page
    assert 'class="sheet"' not in page
    assert "/o/" not in page
    assert "Confirm this plan" not in page


def test_a_vet_confirms_with_one_click_and_has_the_sheet(waiting):
    vet = client(Role.VET)
    assert "Confirm this plan" in sheet(waiting, vet)

    page = vet.post(f"/plans/{waiting.pk}/confirm/", follow=True)

    assert 'class="sheet"' in page.content.decode()
    waiting.refresh_from_db()
    assert waiting.state == Plan.State.RUNNING


def test_a_second_click_says_who_was_first(waiting):
    vet = client(Role.VET)
    vet.post(f"/plans/{waiting.pk}/confirm/")

    page = vet.post(f"/plans/{waiting.pk}/confirm/", follow=True).content.decode()

    assert "confirmed the plan of Pip at" in page


def test_the_desk_may_not_confirm(waiting):
    assert client().post(f"/plans/{waiting.pk}/confirm/").status_code == 403


def test_taking_back_from_the_page(waiting):
    client().post(f"/plans/{waiting.pk}/take-back/")

    waiting.refresh_from_db()
    assert waiting.state == Plan.State.TAKEN_BACK
    assert "taken back" in sheet(waiting)


def test_too_late_to_take_back_is_said():
    plan = world.running_plan()

    page = client().post(f"/plans/{plan.pk}/take-back/", follow=True).content.decode()

    assert "cannot be taken back any more" in page


@pytest.mark.parametrize("page", ["sheet", "confirm", "take-back"])
def test_another_practice_s_plan_is_not_there(page):
    plan = world.running_plan()
    stranger = client(Role.VET, world.practice("other-street"))
    address = f"/plans/{plan.pk}/{page}/"

    answer = stranger.get(address) if page == "sheet" else stranger.post(address)

    assert answer.status_code == 404
