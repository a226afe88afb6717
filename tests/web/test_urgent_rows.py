"""An urgent case on the pages of staff: by when the owner is spoken to, and who has it."""

from __future__ import annotations

import pytest

from clinic.models import Role
from tests import world
from tests.owner_world import move_clock
from tests.services.calling import called

pytestmark = pytest.mark.django_db


def test_an_urgent_one_says_by_when_the_owner_is_spoken_to_and_can_be_taken(client):
    plan = world.running_plan()
    client.force_login(world.staff(plan.practice, Role.VET))
    move_clock(world.at("19:10"))
    flag = called(plan, world.at("19:00"))

    page = client.get("/").content.decode()
    assert "speak to the owner by Mon 22:00" in page
    taken = client.post(f"/flags/{flag.pk}/acknowledge/")

    assert taken.status_code == 302
    page = client.get("/").content.decode()
    assert "has it, 19:10" in page
    assert f"/flags/{flag.pk}/acknowledge/" not in page
