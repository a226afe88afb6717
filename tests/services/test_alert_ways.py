"""By which ways people are alerted: each shift's own, in its order, and the practice's room. Clinical defaults, 13."""

from __future__ import annotations

import pytest

from clinic.models import OnCallShift, Role, Staff
from followup.domain.terms import Level
from followup.models import Channel, Plan
from followup.services.channel_secrets import encrypt
from followup.services.escalate_reach import media_set_up
from tests import world
from tests.services.calling import CHAT, EMAIL, SMS, both, called, told
from tests.world import at

pytestmark = pytest.mark.django_db


@pytest.fixture
def plan() -> Plan:
    return world.running_plan()


@pytest.fixture
def vets(plan: Plan) -> list[Staff]:
    return [world.staff(plan.practice, Role.VET, f"{name} Vet") for name in ("First", "Second", "Third")]


def test_a_shifts_own_ways_in_their_order(plan, vets):
    shift = world.on_call(plan.practice, vets[0])
    OnCallShift.objects.filter(pk=shift.pk).update(media=["sms", "email"])
    called(plan, at("19:00"), level=Level.EMERGENCY)

    assert told(at("19:00")) == [("First", SMS)]
    assert told(at("19:05")) == [("First", SMS), ("First", EMAIL)]


def test_who_wants_texts_alone_gets_texts_alone(plan, vets):
    shift = world.on_call(plan.practice, vets[0])
    OnCallShift.objects.filter(pk=shift.pk).update(media=["sms"])
    called(plan, at("19:00"), level=Level.EMERGENCY)
    told(at("19:00"))

    assert told(at("19:05")) == [("First", SMS)]


def test_who_has_no_address_for_the_first_way_is_reached_by_the_next(plan, vets):
    shift = world.on_call(plan.practice, vets[0])
    OnCallShift.objects.filter(pk=shift.pk).update(media=["sms"])
    Staff.objects.update(mobile="")
    called(plan, at("19:00"), level=Level.EMERGENCY)

    assert told(at("19:00")) == [("First", EMAIL)]


def test_a_way_that_is_not_set_up_is_no_way_while_another_is(plan, vets, settings):
    settings.SMS_URL = "json://example.org"
    world.on_call(plan.practice, vets[0])
    called(plan, at("19:00"), level=Level.EMERGENCY)

    assert told(at("19:00")) == [("First", SMS)]


def room(plan: Plan, **changes) -> None:
    Channel.objects.create(practice=plan.practice, medium=CHAT, secret_url=encrypt("json://example.org"), **changes)


def test_every_way_includes_the_practices_room_once_a_step(plan, vets, settings):
    settings.EMAIL_URL, settings.SMS_URL = "smtp://mail.example.org", "json://example.org"
    room(plan)
    for position, who in enumerate(vets, start=1):
        world.on_call(plan.practice, who, position=position)
    called(plan, at("19:00"), level=Level.EMERGENCY)

    assert told(at("19:00")) == [("First", EMAIL)]
    assert told(at("19:05")) == [*both("First"), ("First", CHAT)]
    assert told(at("19:15")) == [*both("First", "Second"), ("First", CHAT)]


def test_with_a_room_alone_the_room_is_told_at_once(plan, vets):
    room(plan)
    world.on_call(plan.practice, vets[0])
    called(plan, at("19:00"), level=Level.EMERGENCY)

    assert told(at("19:00")) == [("First", CHAT)]


def test_a_room_that_is_switched_off_is_told_nothing(plan, vets):
    room(plan, enabled=False)
    world.on_call(plan.practice, vets[0])
    called(plan, at("19:00"), level=Level.EMERGENCY)
    told(at("19:00"))

    assert told(at("19:05")) == both("First")


def test_with_no_way_out_of_the_building_an_emergency_reaches_only_the_screen(plan):
    assert not media_set_up(plan.practice)


@pytest.mark.parametrize("setting", ["EMAIL_URL", "SMS_URL"])
def test_one_way_of_the_installation_is_enough(plan, settings, setting):
    setattr(settings, setting, "json://example.org")

    assert media_set_up(plan.practice)


def test_a_room_of_the_practice_is_enough(plan):
    room(plan)

    assert media_set_up(plan.practice)


def test_a_room_of_another_practice_is_none_of_ours(plan):
    room(plan)

    assert not media_set_up(world.practice("other-street"))
