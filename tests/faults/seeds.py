"""What a trial begins with, made by the program's own services inside a process of its own; printed as JSON."""

from __future__ import annotations

import datetime as dt
import json

from django.db import transaction

from followup.domain.wording import Text
from followup.models import Message, Plan
from followup.services.links import path_of, recipient_for
from followup.services.outbox import queue_to_owner
from tests import world
from tests.owner_world import pip_at_home
from tests.world import at

DUE = at("17:30")
"""Every trial's messages are due at half past five on the afternoon of surgery."""
WORTH_SENDING = dt.timedelta(hours=2)


def practice() -> None:
    """The invented practice of every trial, with its protocols and its people."""
    made = world.practice()
    for role in ("vet", "front_desk"):
        world.staff(made, role)


@transaction.atomic
def messages(many: int, *, by: str = "both", worth_sending: dt.timedelta = WORTH_SENDING) -> None:
    """One message to each of so many owners, all due at once. `by`: "email", "sms", or "both" ways to reach each."""
    plan = _plan_without_messages()
    for number in range(many):
        person = world.owner(
            plan.practice,
            email="" if by == "sms" else f"due{number}@example.org",
            mobile="" if by == "email" else f"+447700{900_000 + number % 1000:06d}",
        )
        made = queue_to_owner(
            plan,
            recipient_for(plan.practice, person, now=DUE),
            purpose=Message.Purpose.CHECK_IN,
            key=f"due {number}",
            text=Text(f"Number {number}", "How is it going? {link}"),
            now=DUE,
            expires_at=DUE + worth_sending,
        )
        assert made is not None


def home() -> None:
    """One patient at home and the owner's link: {"home": path, "plan": number}."""
    found = pip_at_home()
    print(json.dumps({"home": path_of(found.recipient), "plan": found.plan.pk}))  # noqa: T201 - read by the trial


def _plan_without_messages() -> Plan:
    plan = world.running_plan()
    plan.messages.all().delete()
    plan.check_ins.all().delete()
    plan.doses.all().delete()
    plan.wound_reviews.all().delete()
    return plan
