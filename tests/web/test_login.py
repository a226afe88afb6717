"""Coming in, going out, and working at one of two practices."""

from __future__ import annotations

import pytest
from django.test import Client, RequestFactory
from django.urls import reverse
from django.views.defaults import server_error

from clinic.models import Membership, Role
from tests.world import PASSWORD, practice, staff

pytestmark = pytest.mark.django_db
LOG_IN = "/log-in/"


def post(client: Client, email: str, password: str = PASSWORD, **more: str):
    return client.post(LOG_IN, {"username": email, "password": password} | more)


def test_a_vet_logs_in_with_her_e_mail_in_any_case_and_lands_on_the_morning_list(client):
    vet = staff(practice(), Role.VET)

    answer = post(client, vet.email.upper())

    assert answer["Location"] == "/"
    page = client.get("/").content.decode()
    assert vet.name in page
    assert "Elm Street Clinic" in page
    assert 'aria-current="page">Morning list' in page


def test_she_lands_where_she_was_going_but_never_elsewhere(client):
    vet = staff(practice(), Role.VET)

    assert post(client, vet.email, next="/enrol/")["Location"] == "/enrol/"
    assert post(Client(), vet.email, next="https://elsewhere.example.org/")["Location"] == "/"


@pytest.mark.parametrize("email", ["vet.of.elm.street.clinic@example.org", "nobody@example.org"])
def test_a_wrong_password_and_a_stranger_read_the_same_sentence(client, email):
    staff(practice(), Role.VET)

    page = post(client, email, "lettuce at eight").content.decode()

    assert "This e-mail and password do not belong together." in page
    assert f'value="{email}"' in page  # what was typed is kept, but never the password
    assert "lettuce" not in page
    assert "_auth_user_id" not in client.session


def test_who_has_left_reads_it_too(client):
    vet = staff(practice(), Role.VET)
    vet.is_active = False
    vet.save()

    assert "do not belong together" in post(client, vet.email).content.decode()


def test_after_ten_wrong_passwords_the_page_says_to_wait(client):
    vet = staff(practice(), Role.VET)
    answers = [post(client, vet.email, "lettuce at eight") for _ in range(10)]

    assert [each.status_code for each in answers] == [200] * 9 + [429]
    assert "Wait 15 minutes" in answers[-1].content.decode()
    assert post(client, vet.email.upper()).status_code == 429
    assert post(client, vet.email).status_code == 429  # the right one does not help any more
    nurse = staff(practice(), Role.NURSE)
    assert post(client, nurse.email).status_code == 302  # and nobody else is kept out


def test_log_out_is_a_button_and_no_link(client):
    client.force_login(staff(practice(), Role.VET))

    assert client.get("/log-out/").status_code == 405
    client.post("/log-out/")
    assert client.get("/").status_code == 302


def test_who_works_at_two_practices_chooses_and_sees_only_that_one(client):
    first, second = practice("elm-street"), practice("oak-lane")
    vet = staff(first, Role.VET, "Vera Example")
    staff(second, Role.NURSE, "Vera Example")
    client.force_login(vet)
    assert "Switch practice" in client.get("/").content.decode()

    answer = client.post(reverse("clinic:choose-practice"), {"practice": second.pk})

    assert answer["Location"] == "/"
    page = client.get("/").content.decode()
    assert "<strong>Oak Lane Clinic</strong>" in page
    assert "Vera Example, nurse" in page
    assert "Elm Street" not in page


def test_a_practice_of_others_cannot_be_chosen(client):
    vet = staff(practice("elm-street"), Role.VET)
    stranger = practice("oak-lane")
    staff(stranger, Role.VET)
    client.force_login(vet)

    answer = client.post(reverse("clinic:choose-practice"), {"practice": stranger.pk})

    assert answer.status_code == 400
    assert "You do not work at that practice." in answer.content.decode()
    assert "Oak Lane" not in client.get("/").content.decode()


def test_who_has_one_practice_is_offered_no_other(client):
    client.force_login(staff(practice(), Role.VET))

    assert "Switch practice" not in client.get("/").content.decode()


def test_a_practice_one_has_left_is_gone_from_the_session_at_once(client):
    first, second = practice("elm-street"), practice("oak-lane")
    vet = staff(first, Role.VET, "Vera Example")
    staff(second, Role.VET, "Vera Example")
    client.force_login(vet)
    client.post(reverse("clinic:choose-practice"), {"practice": second.pk})

    Membership.objects.filter(practice=second).update(active=False)
    assert "<strong>Elm Street Clinic</strong>" in client.get("/").content.decode()
    Membership.objects.update(active=False)
    answer = client.get("/")
    assert answer.status_code == 403
    assert "This is not yours to open" in answer.content.decode()


@pytest.mark.parametrize("inside", [True, False])
def test_an_address_of_nothing_is_answered_by_a_page_of_ours(client, inside):
    if inside:
        client.force_login(staff(practice(), Role.VET))

    answer = client.get("/no/such/place/")

    assert answer.status_code == 404
    assert "There is nothing here" in answer.content.decode()


def test_a_form_that_lay_open_too_long_is_answered_by_a_page_of_ours():
    answer = Client(enforce_csrf_checks=True).post(LOG_IN, {"username": "x", "password": "y"})

    assert answer.status_code == 403
    assert "Please send that again" in answer.content.decode()


def test_when_we_break_the_page_is_ours_and_says_to_phone():
    page = server_error(RequestFactory().get("/")).content.decode()

    assert "Something broke on our side" in page
    assert "do not wait: phone" in page
