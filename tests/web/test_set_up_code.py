"""The one-time address with which a new member of staff chooses a password."""

from __future__ import annotations

import datetime as dt
import re

import pytest
from django.test import Client

from clinic import clock
from clinic.models import ClockOffset, Role, SetUpCode, Staff
from clinic.services.invite import Person, invite
from clinic.services.use_set_up_code import use_set_up_code
from tests.world import practice, staff

pytestmark = pytest.mark.django_db
GOOD = "hay, water and patience"


@pytest.fixture
def code() -> str:
    where = practice(seeded=False)
    person = Person(name="Nora Example", email="nora@example.org")
    return invite(where, person=person, role=Role.NURSE, now=clock.now())


def nora() -> Staff:
    return Staff.objects.get(email="nora@example.org")


def post(code: str, password: str = GOOD, again: str = GOOD):
    return Client().post(f"/welcome/{code}/", {"password": password, "again": again})


def later(by: dt.timedelta) -> None:
    ClockOffset.objects.update_or_create(id=1, defaults={"offset": by})


def test_the_page_greets_her_and_no_other_site_hears_of_the_code(code):
    answer = Client().get(f"/welcome/{code}/")

    assert "Welcome, Nora Example" in answer.content.decode()
    assert "nora@example.org" in answer.content.decode()
    assert answer["Referrer-Policy"] == "same-origin"  # no-referrer would make browsers post `Origin: null`: refused
    assert "no-store" in answer["Cache-Control"]


def test_she_chooses_a_password_and_logs_in_with_it(code):
    browser = Client()
    answer = browser.post(f"/welcome/{code}/", {"password": GOOD, "again": GOOD})
    assert answer["Location"] == "/log-in/"
    assert "Your password is set." in browser.get("/log-in/").content.decode()

    browser.post("/log-in/", {"username": "nora@example.org", "password": GOOD})

    assert "Nora Example, nurse" in browser.get("/").content.decode()


def test_the_page_carries_what_its_own_post_needs(code):
    browser = Client(enforce_csrf_checks=True)
    token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', browser.get(f"/welcome/{code}/").content.decode())
    assert token is not None

    typed = {"password": GOOD, "again": GOOD, "csrfmiddlewaretoken": token[1]}
    answer = browser.post(f"/welcome/{code}/", typed, headers={"origin": "http://testserver"})

    assert answer.status_code == 302


def test_it_opens_once(code):
    assert post(code).status_code == 302

    second = post(code, "another good password", "another good password")

    assert second.status_code == 404
    assert "It works once, for seven days" in second.content.decode()
    assert nora().check_password(GOOD)


@pytest.mark.parametrize(
    ("after", "status"),
    [(dt.timedelta(days=7) - dt.timedelta(minutes=1), 302), (dt.timedelta(days=7), 404)],
)
def test_it_opens_for_seven_days(code, after, status):
    later(after)

    assert post(code).status_code == status


@pytest.mark.parametrize(
    ("password", "again", "sentence"),
    [
        ("", "", "Write a password."),
        (GOOD, "", "Write the password a second time."),
        (GOOD, GOOD + "!", "The two passwords differ."),
        ("fourteen signs", "fourteen signs", "This password is too short. It must contain at least 15 characters."),
        ("1234567890123456", "1234567890123456", "This password is entirely numeric."),
        ("nora@example.org", "nora@example.org", "The password is too similar to the email."),
    ],
)
def test_a_password_that_will_not_do_is_refused_at_its_field_and_the_code_still_opens(code, password, again, sentence):
    answer = post(code, password, again)

    assert answer.status_code == 400
    assert sentence in answer.content.decode()
    assert not nora().has_usable_password()
    assert post(code).status_code == 302


@pytest.mark.parametrize("wrong", ["x", "A" * 22, "A" * 4000, "%00"])
def test_a_wrong_code_learns_nothing(code, wrong):
    answer = Client().get(f"/welcome/{wrong}/")

    assert answer.status_code == 404
    assert "Nora" not in answer.content.decode()


def test_the_hash_that_is_kept_opens_nothing(code):
    assert Client().get(f"/welcome/{SetUpCode.objects.get().code_hash}/").status_code == 404


def test_it_dies_with_the_leaving_of_its_owner(code):
    Staff.objects.update(is_active=False)

    assert post(code).status_code == 404


def test_of_two_posts_at_one_moment_one_is_taken(code):
    now = clock.now()

    first = use_set_up_code(code, password=GOOD, now=now)
    second = use_set_up_code(code, password="another good password", now=now)

    assert (first, second) == (nora(), None)
    assert nora().check_password(GOOD)


def test_a_new_password_ends_the_sessions_of_the_old_one():
    vet = staff(practice(), Role.VET)
    browser = Client()
    browser.force_login(vet)
    code = invite(practice(), person=Person(name=vet.name, email=vet.email), role=Role.VET, now=clock.now())

    post(code)

    assert browser.get("/").status_code == 302
