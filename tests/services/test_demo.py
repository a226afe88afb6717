"""The demo: an invented fortnight lived through by the services, and a clock that runs every tick on its way."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import pytest

from clinic.models import ClockOffset, Practice
from followup.models import Flag, Message, Photo, Plan
from followup.services.demo import fill
from followup.services.morning_list import morning_list
from followup.services.needs import Group

pytestmark = pytest.mark.django_db
NOW = dt.datetime(2026, 11, 25, 14, 5, tzinfo=dt.UTC)
MORNING = dt.datetime(2026, 11, 25, 7, 40, tzinfo=ZoneInfo("Europe/London"))


@pytest.fixture
def lived(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "photos"
    return fill(now=NOW)


def test_the_invented_fortnight(lived):
    """Lived through once, since it takes some seconds; then looked at from four sides."""
    it_opens_on_a_morning_with_somebody_in_each_group()
    it_starts_at_twenty_to_eight_and_is_filled_once()
    no_question_ever_reached_an_owner_asleep()
    the_nights_emergency_was_told_and_alerted_within_a_tick_of_the_answer()
    assert {each.role for each in lived} == {"vet", "nurse", "front desk", "administrator"}


def it_opens_on_a_morning_with_somebody_in_each_group() -> None:
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


def it_starts_at_twenty_to_eight_and_is_filled_once() -> None:
    assert NOW + ClockOffset.objects.get().offset == MORNING
    assert fill(now=NOW) == []


def no_question_ever_reached_an_owner_asleep() -> None:
    for message in Message.objects.filter(audience="owner", purpose__in=["check_in", "dose", "reminder"]):
        if message.sent_at is not None:
            clock = message.sent_at.astimezone(ZoneInfo("Europe/London")).time()
            assert dt.time(7) <= clock < dt.time(22), message


def the_nights_emergency_was_told_and_alerted_within_a_tick_of_the_answer() -> None:
    flag = Flag.objects.get(plan__patient__name="Bramble", concern="eating")
    told = Message.objects.filter(flag=flag, purpose="advice").order_by("sent_at").first()
    alerts = Message.objects.filter(flag=flag, purpose="alert", sent_at__isnull=False).order_by("sent_at")
    assert told is not None
    assert told.sent_at is not None
    assert told.sent_at - flag.raised_at <= dt.timedelta(seconds=15)
    after = sorted(
        {
            (each - flag.raised_at) // dt.timedelta(minutes=1)
            for each in alerts.values_list("sent_at", flat=True)
            if each
        }
    )
    assert after[:5] == [0, 5, 15, 30, 45]
