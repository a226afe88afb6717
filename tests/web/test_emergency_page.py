"""Who to phone, when an owner's page cannot be shown, up to a database that is not there."""

from __future__ import annotations

import datetime as dt
import io
import shutil
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.test import Client

from clinic import clock
from clinic.models import OpeningException, Practice
from clinic.services.emergency_pages import emergency_page, write_emergency_pages
from tests.owner_world import pip_at_home
from tests.world import practice

pytestmark = pytest.mark.django_db
LINK = "/o/elm-street/made-up-code/"
FOLDER = Path(settings.DATA_DIR) / "emergency"


@pytest.fixture(autouse=True)
def no_page_of_another_test():
    yield
    shutil.rmtree(FOLDER, ignore_errors=True)
    FOLDER.unlink(missing_ok=True)


def kept(slug: str = "elm-street") -> Practice:
    where = practice(slug, seeded=False)
    write_emergency_pages(now=clock.now())
    return where


def test_with_the_database_gone_an_owners_link_still_shows_every_number(django_db_blocker):
    kept()

    with django_db_blocker.block():  # each question to the database now raises
        answer = Client(raise_request_exception=False).get(LINK)

    page = answer.content.decode()
    assert answer.status_code == 500
    assert "Phone Elm Street Clinic" in page
    assert 'href="tel:+441632960100">+44 1632 960100<' in page
    assert 'href="tel:+441632960200">+44 1632 960200<' in page
    assert "Guinea pig: Night vets for guinea pigs" in page
    assert "Rabbit: Night vets for rabbits" in page
    assert "do not wait: phone" in page
    assert (answer["Cache-Control"], answer["Referrer-Policy"]) == ("no-store", "no-referrer")


@pytest.mark.parametrize("cut", ["/o/elm-street/", "/o/elm-street", "/o/elm-street/code/no/such/page/"])
def test_an_address_cut_short_shows_whom_to_phone(cut):
    kept()

    answer = Client().get(cut)

    assert answer.status_code == 404
    assert "Phone Elm Street Clinic" in answer.content.decode()


@pytest.mark.parametrize("nobody", ["/o/oak-lane/", "/o/..%2f..%2fsecret/", "/o/.elm-street/"])
def test_a_practice_that_is_not_there_is_answered_by_the_page_of_everybody(nobody):
    kept()

    answer = Client().get(nobody)

    assert answer.status_code == 404
    assert "There is nothing here" in answer.content.decode()
    assert "Elm Street" not in answer.content.decode()


def test_a_name_that_leads_out_of_the_folder_opens_nothing():
    kept()
    outside = FOLDER.parent / "outside.html"
    outside.write_text("not for owners")

    found = emergency_page("../outside")

    outside.unlink()
    assert found is None


def test_words_longer_than_a_form_may_be_are_answered_with_the_number():
    home = pip_at_home()
    write_emergency_pages(now=clock.now())

    answer = Client().post(f"{home.home}note/", {"text": "x" * 2_000_000})

    assert answer.status_code == 400
    assert "Phone Elm Street Clinic" in answer.content.decode()


def test_staff_read_their_own_page_of_errors():
    kept()

    assert "There is nothing here" in Client().get("/no/such/o/elm-street/").content.decode()


def test_each_practice_has_its_own_and_it_tells_hours_and_feast_days():
    today = clock.now().date()
    where = practice(seeded=False)
    for ahead, note in ((-2, "a day gone by"), (3, "a feast")):
        OpeningException.objects.create(practice=where, date=today + dt.timedelta(days=ahead), note=note)
    kept("oak-lane")

    elm, oak = emergency_page("elm-street"), emergency_page("oak-lane")

    assert elm is not None
    assert oak is not None
    assert "<dt>Monday</dt><dd>08:00-18:30</dd>" in elm
    assert "<dt>Sunday</dt><dd>closed</dd>" in elm
    assert "<dd>closed, a feast</dd>" in elm
    assert "a day gone by" not in elm
    assert "Oak Lane Clinic" in oak
    assert "Elm Street" not in oak
    assert "a feast" not in oak


def test_without_anybody_for_the_night_it_says_so():
    where = practice(seeded=False)
    where.providers.all().delete()
    kept()

    assert "Phone the nearest emergency vet" in str(emergency_page("elm-street"))


def test_a_provider_that_is_named_on_the_command_line_is_on_it_at_once():
    kept()

    hare = (
        "--name",
        "Hare House",
        "--phone",
        "01632 960300",
        "--address",
        "3 Far Road",
        "--second-phone",
        "01632 960301",
    )
    call_command("practice", "provider", "elm-street", "rabbit", *hare, stdout=io.StringIO())

    page = str(emergency_page("elm-street"))
    assert "Rabbit: Hare House" in page
    assert "+44 1632 960300" in page
    assert "+44 1632 960301" in page


def test_a_refused_command_changes_no_page():
    kept()
    before = emergency_page("elm-street")

    with pytest.raises(CommandError):
        call_command(
            "practice", "provider", "elm-street", "rabbit", "--name", " ", "--phone", "01632 960300", "--address", "x"
        )

    assert emergency_page("elm-street") == before


def test_a_disk_that_refuses_is_said_in_a_sentence():
    practice(seeded=False)
    FOLDER.write_text("a file where the folder should be")

    with pytest.raises(CommandError, match="Who to phone in an emergency could not be written"):
        call_command("practice", "list", stdout=io.StringIO())


def test_nothing_unfinished_is_left_lying():
    kept()
    kept()

    assert [each.name for each in FOLDER.iterdir()] == ["elm-street.html"]
