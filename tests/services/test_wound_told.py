"""A wound that looks as expected: the owner is told if whoever looked says so, once, and reads it on his page."""

from __future__ import annotations

import pytest
from django.test import Client

from clinic.models import Role
from followup.models import Message
from followup.services.links import path_of, recipient_for
from followup.services.wound_review import AlreadyLookedAt, WoundLook, look_at_wound
from tests import world
from tests.owner_world import move_clock
from tests.pages import text_of
from tests.world import at

pytestmark = pytest.mark.django_db
NOW = at("09:12", day=3)


@pytest.fixture
def plan():
    move_clock(NOW)
    return world.running_plan()


def look(plan, *, as_expected: bool) -> None:
    staff = world.staff(plan.practice, Role.VET, "Dr Vera Vet")
    looked = WoundLook("dry, closed", "go on", as_expected=as_expected)
    look_at_wound(plan.wound_reviews.get(day=3), looked, staff=staff, now=NOW)


def told(plan) -> list[str]:
    return list(plan.messages.filter(key__startswith="wound:").values_list("body", flat=True))


def test_told_it_is_one_message_and_a_line_on_the_page(plan):
    look(plan, as_expected=True)
    with pytest.raises(AlreadyLookedAt):
        look(plan, as_expected=True)

    [body] = told(plan)
    assert body.startswith("Dr Vera Vet has looked at the wound of Pip. It looks as expected on day 3.")
    assert plan.messages.get(key__startswith="wound:").purpose == Message.Purpose.NEWS
    home = path_of(recipient_for(plan.practice, plan.patient.owner, now=NOW))
    page = text_of(Client().get(f"{home}patient/{plan.pk}/"))
    assert "Dr Vera Vet looked at the wound: Thu 13 Mar, 09:12. It looks as expected on day 3." in page


def test_not_told_there_is_no_message(plan):
    look(plan, as_expected=False)

    assert told(plan) == []


def test_the_form_says_in_which_words(plan, client):
    client.force_login(world.staff(plan.practice, Role.NURSE, "Nora Nurse"))
    path = f"/reviews/{plan.wound_reviews.get(day=3).pk}/"
    assert "Nora Nurse has looked at the wound of Pip. It looks as expected on day 3." in text_of(client.get(path))

    client.post(path, {"found": "dry", "decision": "go on", "as_expected": "on"})

    assert len(told(plan)) == 1
    assert "the owner was told that it looks as expected" in text_of(client.get(path))
