"""The demo's clock never jumps: every tick on its way is run at its own moment."""

from __future__ import annotations

import datetime as dt

import pytest

from clinic.models import ClockOffset
from followup.models import Count, Event, Flag, Gap
from followup.services.demo_clock import move_on
from tests import world

pytestmark = pytest.mark.django_db


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
    assert not Gap.objects.exists(), "a clock that is moved on is no outage"
    move_on(dt.timedelta(hours=9), now=reached)
    assert not Gap.objects.exists()
    assert not Count.objects.exists()


def test_to_the_next_message_stops_where_something_is_due():
    world.running_plan()

    assert move_on(None, now=world.at("16:31")) == world.at("16:32") + dt.timedelta(seconds=1)
