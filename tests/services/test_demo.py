"""The demo: an invented fortnight lived through by the services, and a clock that runs every tick on its way."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import pytest

from clinic.models import ClockOffset, Practice
from followup.models import Event, Flag, Message, Photo, Plan
from followup.services.demo import fill
from followup.services.demo_clock import move_on
from followup.services.morning_list import morning_list
from followup.services.needs import Group
from tests import world

pytestmark = pytest.mark.django_db
NOW = dt.datetime(2026, 11, 25, 14, 5, tzinfo=dt.UTC)
MORNING = dt.datetime(2026, 11, 25, 7, 40, tzinfo=ZoneInfo("Europe/London"))


@pytest.fixture
def lived(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "photos"
    return fill(now=NOW)


def test_the_demo_opens_on_a_morning_with_somebody_in_each_group(lived):
    practice = Practice.objects.get(slug="quillbrook")

    found = morning_list(practice, now=MORNING)

    names = {each.group: {row.plan.patient.name for row in each.rows if row.plan} for each in found.groups}
    assert names[Group.ACT_NOW] == {"Bramble"}
    assert names[Group.CALL_TODAY] == {"Pepper"}
    assert names[Group.TO_CONFIRM] == {"Thimble"}
    assert {"Juniper", "Clover"} <= names[Group.LOOK]
    assert names[Group.NOT_HEARD] == {"Rolo"}
    assert {"Biscuit", "Crumpet"} <= {row.plan.patient.name for row in found.on_track if row.plan}
    assert Plan.objects.count() == 12
    assert Photo.objects.filter(plan__patient__name="Juniper").exists()
    assert Practice.objects.count() == 2
    assert {each.role for each in lived} == {"vet", "nurse", "front desk", "administrator"}


def test_it_starts_at_twenty_to_eight_and_is_filled_once(lived):
    assert NOW + ClockOffset.objects.get().offset == MORNING
    assert fill(now=NOW) == []


def test_no_question_ever_reached_an_owner_of_the_demo_asleep(lived):
    for message in Message.objects.filter(audience="owner", purpose__in=["check_in", "dose", "reminder"]):
        if message.sent_at is not None:
            clock = message.sent_at.astimezone(ZoneInfo("Europe/London")).time()
            assert dt.time(7) <= clock < dt.time(22), message


def test_moving_the_clock_on_runs_every_tick_on_the_way():
    plan = world.running_plan()
    moved_from = world.at("16:31")

    reached = move_on(dt.timedelta(hours=6), now=moved_from)

    assert reached == world.at("22:31")
    asked = plan.messages.filter(purpose="check_in", state="sent").order_by("sent_at")
    assert [each.sent_at for each in asked] == [world.at("18:30"), world.at("20:45")]
    silence = Event.objects.get(plan=plan, what="flag_opened")
    assert silence.at == world.at("22:00"), "the first evening's silence is urgent at sleep"
    assert Flag.objects.get(plan=plan).worst == 2
    assert ClockOffset.objects.get().offset == dt.timedelta(hours=6)


def test_to_the_next_message_stops_where_something_is_due():
    world.running_plan()

    assert move_on(None, now=world.at("16:31")) == world.at("16:32") + dt.timedelta(seconds=1)
