"""`manage.py practice`, from an empty database to a practice that can take a patient."""

from __future__ import annotations

import datetime as dt
import io
import re

import pytest
from django.core.management import CommandError, call_command
from django.test import Client

from clinic import clock
from clinic.models import (
    Membership,
    OnCallShift,
    OpeningException,
    OutOfHoursProvider,
    Practice,
    Role,
    SetUpCode,
    Staff,
)
from followup.models import ProtocolVersion
from tests.command import manage
from tests.world import practice

pytestmark = pytest.mark.django_db
ADD = (
    "add", "Elm Street Clinic", "--phone", "01632 960100", "--address", "1 Invented Street",
    "--admin-name", "Ada Example", "--admin-email", "Ada@example.org",
)  # fmt: skip


def said(*words: str) -> str:
    out = io.StringIO()
    call_command("practice", *words, stdout=out)
    return out.getvalue()


def address_in(words: str) -> str:
    found = re.search(r"^  http://localhost:8000(/welcome/[^/]+/)$", words, re.M)
    assert found is not None
    return found[1]


def refused(*words: str) -> str:
    with pytest.raises(CommandError) as refusal:
        call_command("practice", *words, stdout=io.StringIO())
    return str(refusal.value)


def test_a_practice_is_founded_with_its_protocols_and_an_administrator_who_has_no_password_yet():
    words = said(*ADD)

    where = Practice.objects.get()
    ada = Membership.objects.get(practice=where)
    assert (where.slug, str(where.phone), where.languages) == ("elm-street-clinic", "+441632960100", ["en"])
    assert (ada.staff.email, ada.role, ada.staff.has_usable_password()) == (
        "ada@example.org",
        Role.ADMINISTRATOR,
        False,
    )
    assert {each.name for each in ProtocolVersion.objects.filter(practice=where)} >= {
        "guinea_pig_castration",
        "rabbit_spay",
    }
    assert "still missing: Opening hours" in words


def test_the_address_that_is_printed_opens_and_sets_the_password():
    address = address_in(said(*ADD))
    answer = Client().post(address, {"password": "carrots before seven", "again": "carrots before seven"})

    assert answer.status_code == 302
    assert Staff.objects.get().check_password("carrots before seven")


def test_only_a_hash_of_the_code_is_kept():
    code = address_in(said(*ADD)).split("/")[2]

    kept = SetUpCode.objects.get()
    assert code not in repr(vars(kept))
    assert len(code) >= 22  # 128 bits in base64: 16 bytes * 8 / 6 = 21.3 characters


def test_nothing_is_founded_when_the_administrator_cannot_be_invited():
    assert "“not-an-address” is not an e-mail address" in refused(*ADD[:-1], "not-an-address")
    assert Practice.objects.count() == 0


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("invite", "oak-lane", "--name", "B", "--email", "b@example.org", "--role", "vet"),
         "There is no practice “oak-lane”. There are: elm-street."),
        (("invite", "elm-street", "--name", " ", "--email", "b@example.org", "--role", "vet"),
         "Who is it? A name is needed"),
        (("invite", "elm-street", "--name", "B", "--email", "b@example.org", "--role", "king"),
         "invalid choice: 'king'"),
        (("invite", "elm-street", "--name", "B", "--email", "b@example.org", "--role", "vet", "--mobile", "123"),
         "123 is not a phone number."),
        (("hours", "elm-street", "someday", "08:00-18:00"), "“someday” names no weekdays."),
        (("hours", "elm-street", "mon-fri", "8 to 6"), "“8 to 6” are no hours."),
        (("hours", "elm-street", "mon-fri", "18:00-08:00"), "A day that opens at 18:00 cannot close at 08:00."),
        (("closed", "elm-street", "24.12.2025"), "“24.12.2025” is no date."),
        (("closed", "elm-street", "2025-12-26", "2025-12-24"), "Was a date mistyped?"),
        (("closed", "elm-street", "2025-12-24", "2026-12-24"), "Was a date mistyped?"),
        (("provider", "elm-street", "rabbit", "--name", "N", "--phone", "01632 960300", "--address", " "),
         "A provider needs a name and an address"),
        (("on-call", "elm-street", "b@example.org", "2025-03-10 18:00", "2025-03-11 08:00"),
         "Nobody with b@example.org works at Elm Street Clinic."),
        (("on-call", "elm-street", "b@example.org", "tonight", "2025-03-11 08:00"), "“tonight” is no moment."),
        (("on-call", "elm-street", "b@example.org", "2025-03-10T18:00+02:00", "2025-03-11 08:00"), "is no moment."),
    ],
)  # fmt: skip
def test_each_refusal_is_a_sentence(words, sentence):
    practice("elm-street", seeded=False)

    assert sentence in refused(*words)


def test_a_name_that_is_taken_is_refused():
    said(*ADD)

    assert "There is a practice “elm-street-clinic” already." in refused(*ADD)
    assert "“Mars/Olympus” is no time zone." in refused(*ADD, "--slug", "two", "--time-zone", "Mars/Olympus")


def test_hours_run_over_the_week_and_closed_takes_them_away():
    where = practice("elm-street", seeded=False)  # Monday to Saturday

    words = said("hours", "elm-street", "sat-mon", "09:00-12:00")
    said("hours", "elm-street", "mon", "closed")

    assert "Sat 09:00-12:00, Sun 09:00-12:00" in words
    assert sorted(where.opening_hours.values_list("weekday", flat=True)) == [1, 2, 3, 4, 5, 6]


def test_a_feast_is_closed_on_each_of_its_days():
    practice("elm-street", seeded=False)
    words = said("closed", "elm-street", "2025-12-24", "2025-12-26", "--note", "feast")

    assert "2025-12-24 to 2025-12-26: closed" in words
    found = OpeningException.objects.values_list("date", "opens", "note")
    assert list(found) == [(dt.date(2025, 12, day), None, "feast") for day in (24, 25, 26)]


def test_a_provider_takes_the_place_of_the_last_one_for_that_species_alone():
    where = practice("elm-street", seeded=False)

    hare = ("--name", "Hare House", "--phone", "01632 960 300", "--address", "3 Far Road", "--checked", "2025-03-01")
    said("provider", "elm-street", "rabbit", *hare)

    found = {each.species: (each.name, str(each.phone)) for each in OutOfHoursProvider.objects.filter(practice=where)}
    assert found == {
        "guinea_pig": ("Night vets for guinea pigs", "+441632960200"),
        "rabbit": ("Hare House", "+441632960300"),
    }


def test_a_vet_is_invited_put_on_call_on_the_practices_clock_and_listed():
    practice("elm-street", seeded=False)
    said(
        "invite",
        "elm-street",
        "--name",
        "Vera Example",
        "--email",
        "vera@example.org",
        "--role",
        "vet",
        "--mobile",
        "07700 900321",
    )
    said("on-call", "elm-street", "VERA@example.org", "2125-07-01 18:30", "2125-07-02 08:00", "--position", "2")

    shift = OnCallShift.objects.get()
    assert shift.starts_at == dt.datetime(2125, 7, 1, 17, 30, tzinfo=dt.UTC)  # 18:30 of a London summer
    words = said("list")
    assert "Vera Example, vet, vera@example.org, has not chosen a password yet" in words
    assert "on call 2: Vera Example from 2125-07-01 18:30 to 2125-07-02 08:00" in words
    assert "still missing: Somebody on call now" in words


def test_invited_again_the_first_address_is_dead_and_the_role_is_the_new_one():
    practice("elm-street", seeded=False)
    person = ("invite", "elm-street", "--name", "Vera Example", "--email", "vera@example.org")
    first = address_in(said(*person, "--role", "nurse"))
    second = address_in(said(*person, "--role", "vet"))

    assert [Client().get(address).status_code for address in (first, second)] == [404, 200]
    assert Membership.objects.get().role == Role.VET
    assert SetUpCode.objects.usable(clock.now()).count() == 1


def test_who_has_left_is_not_let_back_in_by_an_invitation():
    practice("elm-street", seeded=False)
    person = ("invite", "elm-street", "--name", "Vera Example", "--email", "vera@example.org", "--role", "vet")
    said(*person)
    Staff.objects.update(is_active=False)

    assert "Vera Example (vera@example.org) has left" in refused(*person)


def test_before_the_program_ever_ran_it_says_to_start_it(tmp_path):
    ran = manage("practice", "list", folder=tmp_path)

    assert ran.returncode == 1
    assert "There are no tables yet. Start the program once (make run)" in ran.stderr
    assert "Traceback" not in ran.stderr
