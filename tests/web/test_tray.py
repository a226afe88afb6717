"""The tray: staff read exactly what the owner would get, and open the owner's link."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from clinic.models import Role
from followup.models import Message
from followup.services.links import path_of
from followup.services.tick import tick
from tests import world
from tests.owner_world import move_clock
from tests.services.post import EVENING, message, nothing_waits

pytestmark = pytest.mark.django_db


@pytest.fixture
def plan():
    made = world.running_plan()
    move_clock(EVENING)
    return made


@pytest.fixture
def desk(client, plan):
    client.force_login(world.staff(plan.practice, Role.FRONT_DESK))
    return client


def test_without_a_provider_what_is_due_lands_in_the_tray(plan):
    tick(now=EVENING)

    assert set(plan.messages.filter(state=Message.State.SENT).values_list("sent_through", flat=True)) == {"tray"}
    assert plan.messages.filter(state=Message.State.SENT).count() >= 1


def test_one_message_reads_as_the_owner_gets_it_and_its_link_opens(desk, plan):
    robin = nothing_waits(plan)
    row = message(plan, to=robin)

    page = desk.get(f"/tray/{row.pk}/").content.decode()

    assert path_of(robin) in page
    assert "{link}" not in page
    assert robin.person.name in page
    assert desk.get(path_of(robin)).status_code == 200


def test_the_newest_comes_first_and_times_are_those_of_the_practice(desk, plan):
    robin = nothing_waits(plan)
    summer = world.at("18:30", day=60)
    for number, now in enumerate([EVENING, summer]):
        row = message(plan, to=robin, now=now, key=f"k{number}")
        Message.objects.filter(pk=row.pk).update(subject=f"subject {number}")

    page = desk.get("/tray/").content.decode()

    assert page.index("subject 1") < page.index("subject 0")
    assert page.count("18:30") == 2


def test_fifty_a_page_and_the_same_queries_for_two_as_for_fifty(desk, plan):
    robin = nothing_waits(plan)
    counts = []
    for upto in (2, 60):
        for number in range(Message.objects.count(), upto):
            message(plan, to=robin, key=f"k{number}")
        with CaptureQueriesContext(connection) as queries:
            desk.get("/tray/")
        counts.append(len(queries))

    assert counts[0] == counts[1]
    assert desk.get("/tray/").content.decode().count("How is Pip?") == 50
    assert desk.get("/tray/?page=2").content.decode().count("How is Pip?") == 10


def test_another_practices_message_is_not_there(desk):
    stranger = world.practice("far-away")
    other = world.running_plan(where=stranger)
    row = message(other, to=nothing_waits(other))

    assert desk.get(f"/tray/{row.pk}/").status_code == 404
    assert str(row.pk) not in [part for part in desk.get("/tray/").content.decode().split('"') if "/tray/" in part]


def test_looking_sends_nothing(desk, plan):
    row = message(plan, to=nothing_waits(plan))

    desk.get("/tray/")
    desk.get(f"/tray/{row.pk}/")

    row.refresh_from_db()
    assert row.state == Message.State.READY
