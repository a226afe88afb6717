"""What a database would refuse, from people who type, paste or press oddly: nothing is lost and no page breaks.

SQLite takes almost anything; these are for PostgreSQL, on which this folder is run too.
"""

from __future__ import annotations

import datetime as dt

import pytest
from django.test import Client
from django.urls import reverse

from clinic.models import Role
from followup.domain.wording import Text
from followup.messaging.channel import Outcome, Sent
from followup.models import CheckIn, Message, Reply
from followup.services.chase import chase
from followup.services.outbox import queue_to_owner
from followup.services.sending_outcome import record
from tests import world
from tests.owner_world import EVENING, move_clock, pip_at_home
from tests.world import at

pytestmark = pytest.mark.django_db
FAR_TOO_LARGE = 2**70


@pytest.fixture
def home():
    move_clock(EVENING)
    return pip_at_home()


@pytest.fixture
def desk(home):
    visitor = Client()
    visitor.force_login(world.staff(home.practice, Role.FRONT_DESK))
    return visitor


def test_a_note_with_an_unstorable_character_is_kept_without_it(home, client):
    client.post(f"{home.home}note/", {"words": "He is\0 bleeding", "entry": "a\0b"})

    assert Reply.objects.latest("pk").text == "He is bleeding"


def test_a_search_with_one_finds_what_was_meant(home, desk):
    page = desk.get(reverse("followup:enrol"), {"q": "Ada\0", "owner": "\0"})

    assert page.status_code == 200


@pytest.mark.parametrize("path", ["/o/elm-street/%00/", "/a/%00/", "/welcome/%00/", "/o/elm-street/%00/note/"])
def test_an_address_with_one_is_nobodys(home, client, path):
    assert client.get(path).status_code == 404


@pytest.mark.parametrize("name", ["patient", "sheet", "wound_review", "task_done", "outcome", "photo", "tray_message"])
def test_a_number_that_no_row_has_is_not_found(home, desk, name):
    assert desk.get(reverse(f"followup:{name}", args=[FAR_TOO_LARGE])).status_code in {403, 404, 405}


@pytest.mark.parametrize("part", ["ask/{0}/one/", "dose/{1}/{0}/", "weight/{0}/", "died/{0}/", "done/{0}/one/"])
def test_nor_at_an_owners_address(home, client, part):
    path = home.home + part.format(FAR_TOO_LARGE, home.plan.pk)

    assert client.get(path).status_code in {200, 404}  # "died" is answered kindly, whatever its number
    assert "tel:+441632960" in client.get(path).content.decode()  # a phone number, always


def test_an_id_that_our_pages_do_not_make_loses_no_words(home, client):
    client.post(f"{home.home}note/", {"words": "He bled", "entry": "x" * 500})

    assert Reply.objects.latest("pk").text == "He bled"


def test_a_sitting_that_our_pages_do_not_make_is_refused_with_the_number(home, client):
    page = client.post(f"{home.home}ask/{home.plan.pk}/{'x' * 65}/", {"question": "breathing", "answer": "normal"})

    assert (page.status_code, "tel:+441632960" in page.content.decode()) == (404, True)


def test_many_animals_of_one_owner_are_asked_in_one_message(home):
    plans = [home.plan, *(world.running_plan(of=home.owner) for _ in range(49))]
    firsts = [plan.check_ins.order_by("at").first().pk for plan in plans]
    CheckIn.objects.exclude(pk__in=firsts).delete()
    CheckIn.objects.update(at=at("20:00"), answer_by=at("21:00"))
    chase(now=at("20:00"))

    asked = Message.objects.filter(purpose="check_in", due_at=at("20:00"))
    assert [message.check_ins.count() for message in asked] == [50]


def test_the_longest_names_there_are_still_go_out(home):
    home.practice.name, home.patient.name, home.owner.name = "P" * 120, "N" * 80, "O" * 200
    for row in (home.practice, home.patient, home.owner):
        row.save()
    message = queue_to_owner(
        home.plan,
        home.recipient,
        purpose=Message.Purpose.ADVICE,
        key="k" * 200,
        text=Text(f"{'P' * 120}: {' and '.join(['N' * 80] * 4)}", "body"),
        now=EVENING,
        expires_at=EVENING + dt.timedelta(hours=1),
    )

    assert message is not None
    message.refresh_from_db()
    assert len(message.subject) > 400


def test_a_service_may_complain_at_length(home):
    message = Message.objects.to_owners().earliest("pk")
    Message.objects.filter(pk=message.pk).update(state="leased", lease_token="0" * 32, lease_until=EVENING)
    message.refresh_from_db()

    assert record(message, Sent(Outcome.PERMANENT, "no " * 500), "email", now=EVENING)
    assert len(Message.objects.get(pk=message.pk).last_error) == 1500
