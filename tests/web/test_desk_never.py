"""What the pages of the front desk never do (write on a look, trust a button, name a script), and must hold."""

from __future__ import annotations

import re

import pytest
from django.test import Client
from django.urls import reverse

from clinic.models import Owner, Role
from followup.models import Plan
from tests import world
from tests.forms.typed import EMPTY_MEDICINE, typed
from tests.owner_world import move_clock
from tests.world import at

pytestmark = pytest.mark.django_db
ENROL = reverse("followup:enrol")
CONTROL = re.compile(r'<(?:input|select|textarea)\b(?![^>]*type="hidden")[^>]*>')


@pytest.fixture
def desk(client):
    """The front desk of Elm Street, at half past four on the day of surgery."""
    move_clock(at("16:30"))
    client.force_login(world.staff(world.practice(), Role.FRONT_DESK))
    return client


def send(desk, action="preview", key="form 1", **changes):
    return desk.post(ENROL, {**typed(**changes), "action": action, "key": key})


def sheet_of(plan):
    return reverse("followup:sheet", args=[plan.pk])


def words(page):
    """What is read on the page, without its tags."""
    return " ".join(re.sub(r"<[^>]+>", " ", page.content.decode()).split())


def test_no_control_is_without_its_label(desk):
    page = desk.get(ENROL).content.decode()
    named = [re.search(r'\bid="([^"]+)"', each) for each in CONTROL.findall(page)]

    assert len(named) > 50
    assert None not in named
    assert [found[1] for found in named if found and f'for="{found[1]}"' not in page] == []


def test_an_error_is_tied_to_its_field_for_those_who_hear_the_page(desk):
    page = send(desk, op__weight_g="0.9").content.decode()

    field = next(each for each in CONTROL.findall(page) if 'name="op-weight_g"' in each)
    assert 'aria-invalid="true"' in field
    assert 'aria-describedby="id_op-weight_g_error"' in field
    assert 'id="id_op-weight_g_error"' in page


def test_a_name_with_a_script_in_it_is_only_a_name(desk):
    page = send(desk, patient__name="<script>alert(1)</script>").content.decode()

    assert "<script>alert" not in page
    assert "&lt;script&gt;alert" in page


def test_a_form_from_elsewhere_is_not_taken():
    guarded = Client(enforce_csrf_checks=True)
    guarded.force_login(world.staff(world.practice(), Role.FRONT_DESK))

    assert send(guarded, "confirm").status_code == 403
    assert not Plan.objects.exists()


def test_a_forged_confirm_of_a_refused_plan_saves_nothing(desk):
    """Ibuprofen is refused in all six species: the button is not there, and posting it anyway does nothing."""
    shown, forged = send(desk, home0__drug="ibuprofen"), send(desk, "confirm", home0__drug="ibuprofen")

    assert 'value="confirm"' not in shown.content.decode()
    assert forged.status_code == 422
    assert "ibuprofen" in words(forged)
    assert not Plan.objects.exists()
    assert not Owner.objects.exists()


def test_a_forged_confirm_of_a_half_filled_page_saves_nothing(desk):
    assert send(desk, "confirm", op__weight_g="0.9").status_code == 422
    assert not Plan.objects.exists()
    assert not Owner.objects.exists()


@pytest.mark.parametrize("number", ["x", "-1", "9999999"])
def test_an_owner_who_is_not_there_is_not_there(desk, number):
    assert desk.get(ENROL, {"owner": number}).status_code == 404


def test_an_owner_of_another_practice_is_not_enrolled_for(desk):
    stranger = world.owner(world.practice("oak-lane"))

    assert send(desk, "confirm", owner=stranger.pk).status_code == 404
    assert not Plan.objects.exists()


@pytest.mark.parametrize("action", ["preview", "confirm"])
def test_a_second_form_for_one_operation_is_led_to_the_first(desk, action):
    pip = world.patient(world.owner(world.practice()))
    known = {"owner": pip.owner_id, "patient__chosen": pip.pk, "patient__name": "", "patient__species": ""}
    send(desk, "confirm", **known)

    again = send(desk, action, key="another form", **known)

    assert again.status_code == 422
    assert "Pip is enrolled already: castration on 10 March 2025." in words(again)
    assert sheet_of(Plan.objects.get()) in again.content.decode()
    assert pip.weights.count() == 1


def test_nothing_is_printed_or_linked_before_a_vet(desk):
    send(desk, "confirm", medicines__home="propose", **dict.fromkeys(EMPTY_MEDICINE, ""))

    shown = desk.get(sheet_of(Plan.objects.get())).content.decode()

    assert "Waiting for a vet" in shown
    assert "ml</strong>" not in shown
    assert "/o/" not in shown
    assert "data:image" not in shown


def test_looking_at_the_sheet_writes_nothing(desk, django_assert_max_num_queries):
    plan = world.running_plan()
    desk.get(sheet_of(plan))

    with django_assert_max_num_queries(32) as asked:
        desk.get(sheet_of(plan))

    assert [each["sql"] for each in asked.captured_queries if not each["sql"].startswith("SELECT")] == []


def test_the_rabbit_s_sheet_has_the_rabbit_s_strength_and_night_number(desk):
    """2.4 kg at 0.6 mg/kg = 1.44 mg; at 1.5 mg/ml that is 0.96 ml. At 0.5 mg/ml it would be 2.88 ml."""
    shown = words(desk.get(sheet_of(world.running_plan("rabbit"))))

    assert "meloxicam 1.5 mg/ml" in shown
    assert "0.96 ml" in shown
    assert "960201" in shown.replace(" ", "")
    assert "960200" not in shown.replace(" ", "")


def test_the_sheet_says_what_to_feed_and_what_becomes_of_the_stitches(desk):
    plan = world.running_plan(discharge={"closure": "buried", "feeding_ml_per_day": 45})

    shown = words(desk.get(sheet_of(plan)))

    assert "Nothing eaten for 6 hours: phone." in shown
    assert "That is 5 meals of about 9 ml." in shown
    assert "The stitches are under the skin and go away by themselves." in shown
