"""What stands above the morning list: whether sending and receiving work, and whom an emergency reaches."""

from __future__ import annotations

import datetime as dt

import pytest

from followup.models import Channel, Heartbeat
from tests import world
from tests.web.test_morning_list import MORNING, fine, page, shown
from tests.world import at

pytestmark = pytest.mark.django_db


def test_whether_sending_and_receiving_work_stands_on_top():
    fine()
    Heartbeat.objects.beat("tick", MORNING)
    Heartbeat.objects.beat("sent", at("07:30", day=1))
    Heartbeat.objects.beat("reply", at("07:35", day=1))

    text = " ".join(page().split())

    assert "last message sent 11 Mar 07:30" in text
    assert "last reply 11 Mar 07:35" in text
    assert "since closing on Monday 18:30" in text


@pytest.mark.parametrize(
    ("ago", "red"), [(dt.timedelta(minutes=3), False), (dt.timedelta(minutes=3, seconds=1), True), (None, True)]
)
def test_a_program_that_has_not_looked_for_three_minutes_says_so_in_red(ago, red):
    world.practice()
    if ago is not None:
        Heartbeat.objects.beat("tick", MORNING - ago)

    assert shown().top.stopped is red


def test_without_a_way_to_write_to_staff_a_red_line_says_that_only_this_screen_is_reached(settings):
    settings.EMAIL_URL = settings.SMS_URL = ""
    where = world.practice()
    words = "Emergencies reach only this screen"
    assert words in page()

    Channel.objects.create(practice=where, medium="email", secret_url="x")

    assert words not in page()
