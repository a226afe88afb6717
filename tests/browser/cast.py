"""Who works at the practice of the stories: made inside a site's own process (`manage.py shell`)."""

from __future__ import annotations

import datetime as dt

from clinic.models import OnCallShift, Role
from clinic.services.emergency_pages import write_emergency_pages
from tests import world
from tests.world import at

DESK, VET = "Dana Desk", "Vera Vet"
SETTING_UP = "from tests.browser.cast import open_practice; open_practice()"


def address_of(name: str) -> str:
    """Where the person gets mail."""
    return f"{name.lower().replace(' ', '.')}@example.org"


def open_practice() -> None:
    """A practice with a front desk and a vet, who is on call without a break."""
    practice = world.practice()
    world.staff(practice, Role.FRONT_DESK, DESK)
    vet = world.staff(practice, Role.VET, VET)
    OnCallShift.objects.create(
        practice=practice, staff=vet, position=1, starts_at=at("00:00"), ends_at=at("00:00") + dt.timedelta(days=40)
    )
    write_emergency_pages(now=at("08:00"))
