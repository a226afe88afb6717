"""What a trial begins with, made by the program's own services inside a process of its own; printed as JSON."""

from __future__ import annotations

import datetime as dt
import json

from django.db import transaction

from clinic.models import Role
from clinic.services.emergency_pages import write_emergency_pages
from followup.domain.wording import Text
from followup.models import Message, Plan
from followup.services.links import path_of, recipient_for
from followup.services.outbox import queue_to_owner
from tests import world
from tests.faults.form import SEEDED
from tests.owner_world import pip_at_home
from tests.world import at

DUE = at("17:30")
"""Every trial's messages are due at half past five on the afternoon of surgery."""


def practice() -> None:
    """The invented practice of every trial, with its protocols, its people, two vets on call, and whom owners phone."""
    made = world.practice()
    world.staff(made, Role.FRONT_DESK)
    for position, name in enumerate(("", "Second Vet"), start=1):
        world.on_call(made, world.staff(made, Role.VET, name), position=position, days=60)
    write_emergency_pages(now=at("08:00"))


@transaction.atomic
def messages(many: int, *, by: str = "both", every: float = 0.0, first: int = 0, hours: int = 2, each: int = 1) -> None:
    """So many owners, numbered from `first` on, and a message to each of them; or `each` messages, all due at once.

    `by`: "email", "sms", or "both" ways to reach a person. `every`: seconds from one owner's turn to the next one's.
    `hours`: for so long a message is worth sending.
    """
    plan = _plan_without_messages()
    for number in range(first, first + many):
        due = DUE + dt.timedelta(seconds=every * (number - first))
        person = world.owner(
            plan.practice,
            email="" if by == "sms" else f"due{number}@example.org",
            mobile="" if by == "email" else f"+447700{900_000 + number % 1000:06d}",
        )
        for copy in range(each):
            made = queue_to_owner(
                plan,
                recipient_for(plan.practice, person, now=due),
                purpose=Message.Purpose.CHECK_IN,
                key=f"{SEEDED}{number} {copy}",
                text=Text(f"Number {number}", "How is it going? {link}"),
                now=due,
                expires_at=due + dt.timedelta(hours=hours),
            )
            assert made is not None


def home() -> None:
    """One patient at home and the owner's link: {"home": path, "plan": number}."""
    found = pip_at_home()
    _print({"home": path_of(found.recipient), "plan": found.plan.pk})


def homes(many: int) -> None:
    """So many patients at home, each of an owner of his own: a list of what `home` prints."""
    _print([_home() for _ in range(many)])


def _home() -> dict[str, object]:
    practice = world.practice()
    owner = world.owner(practice)
    plan = world.running_plan(where=practice, of=owner)
    return {"home": path_of(recipient_for(practice, owner, now=at("16:30"))), "plan": plan.pk}


def _print(what: object) -> None:
    print(json.dumps(what))  # noqa: T201 - read by the trial


def _plan_without_messages() -> Plan:
    plan = world.running_plan()
    plan.messages.all().delete()
    plan.check_ins.all().delete()
    plan.doses.all().delete()
    plan.wound_reviews.all().delete()
    return plan
