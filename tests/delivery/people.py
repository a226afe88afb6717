"""Two practices and their people, by what they can be reached with. Saturday: the clock changes in the coming night."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from typing import Any

from clinic.models import Carer, Consent, Owner, Practice, Role, Staff
from followup.models import Plan, Recipient
from followup.services.links import recipient_for
from tests import world

SPRING, AUTUMN = dt.date(2025, 3, 29), dt.date(2025, 10, 25)
HOME = "16:30"
"""When the first three patients go home. The rabbit's owner has two animals, whose check-ins fall together."""
LATER: tuple[dict[str, Any], ...] = (
    {"name": "Dee", "email": "", "mobile": "+447700900604"},
    {"name": "Eve", "email": "", "mobile": "", "landline": "+441632960605"},
    {"name": "Fay", "email": "fay@example.org", "mobile": "+447700900606", "wakes": dt.time(9), "sleeps": dt.time(1)},
)
"""Who may be enrolled later: by text alone, by calls alone, both ways and a night owl."""


@dataclass
class People:
    """Everybody, in an order that never changes. `plans` grows."""

    day: dt.date
    practices: list[Practice]
    vets: list[Staff]
    plans: list[Plan] = field(default_factory=list)

    @property
    def home(self) -> dt.datetime:
        """When the first are at home."""
        return world.at(HOME, of=self.day)

    def recipients(self) -> list[Recipient]:
        """Everybody who has a link, in the order in which they got it."""
        return list(Recipient.objects.select_related("person", "practice").order_by("pk"))

    def enrol(self, species: str, owner: Owner, *, now: dt.datetime) -> Plan:
        """One recovery more, at home since the first day."""
        self.plans.append(world.running_plan(species, day=self.day, of=owner, now=now))
        return self.plans[-1]

    def enrol_later(self, which: int, species: str, *, now: dt.datetime) -> Plan | None:
        """A recovery of one of the others, each once. None: enrolled already."""
        facts = LATER[which]
        if Owner.objects.filter(name=facts["name"]).exists():
            return None
        return self.enrol(species, world.owner(self.practices[which % 2], **facts), now=now)


def everybody(day: dt.date) -> People:
    """Ada with Pip and Clover, both ways and woken at night, and Cy behind her; Ben with another Pip, by mail alone."""
    elm, oak = world.practice("elm-street"), world.practice("oak-lane")
    vets = [world.staff(elm, Role.VET), world.staff(oak, Role.VET)]
    for position, name in enumerate(("", "Second Vet"), start=1):
        world.on_call(elm, world.staff(elm, Role.VET, name), position=position, days=400)
    people = People(day, [elm, oak], vets)
    ada = world.owner(elm, name="Ada", email="ada@example.org", mobile="+447700900601")
    ben = world.owner(oak, name="Ben", email="ben@example.org", mobile="")
    Consent.objects.create(practice=elm, owner=ada, kind="wake_me_at_night", given=True, at=people.home)
    for species, owner in (("rabbit", ada), ("guinea_pig", ada), ("guinea_pig", ben)):
        people.enrol(species, owner, now=people.home)
    cy = world.owner(elm, name="Cy", email="", mobile="+447700900603", wakes=dt.time(9), sleeps=dt.time(1))
    Carer.objects.create(patient=people.plans[0].patient, person=cy, second=True)
    recipient_for(elm, cy, part=Recipient.Part.SECOND_CARER, now=people.home)
    return people
