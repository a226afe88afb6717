"""A way to send that is no way out of the building, and messages to send by it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from clinic.models import Owner
from followup.domain.wording import Text
from followup.messaging.channel import Channel, Letter, Outcome, Sent
from followup.models import Message, Plan, Recipient
from followup.services.channels import configured
from followup.services.links import recipient_for
from followup.services.outbox import queue_to_owner
from tests import world

EVENING = world.at("18:30")


@dataclass
class Post:
    """A channel that remembers, and answers what it was told to; `meanwhile` happens while it sends.

    The program's hourly message to itself takes its own way all the same, unless `also_canaries`.
    """

    answer: Sent = field(default_factory=lambda: Sent(Outcome.OK))
    meanwhile: Callable[[], object] = lambda: None
    letters: list[Letter] = field(default_factory=list)
    also_canaries: bool = False
    name = "post"

    def send(self, letter: Letter) -> Sent:
        self.letters.append(letter)
        self.meanwhile()
        return self.answer

    def __call__(self, message: Message) -> Channel:
        return configured(message) if message.audience == Message.Audience.LOOP and not self.also_canaries else self


DOWN = Sent(Outcome.TRANSIENT, "no connection", whole_channel=True)
REFUSED = Sent(Outcome.TRANSIENT, "451")


def nothing_waits(plan: Plan) -> Recipient:
    plan.messages.all().delete()
    return recipient_for(plan.practice, plan.patient.owner, now=EVENING)


def message(plan: Plan, *, to: Recipient, now: dt.datetime = EVENING, key: str = "one", **changes) -> Message:
    facts: dict[str, Any] = {
        "purpose": Message.Purpose.CHECK_IN,
        "text": Text("How is Pip?", "Look, please: {link}"),
        "expires_at": now + dt.timedelta(hours=12),
    }
    made = queue_to_owner(plan, to, key=key, now=now, **facts | changes)
    assert made is not None
    return made


def state(row: Message) -> str:
    row.refresh_from_db()
    return row.state


def read_by(row: Message) -> Owner:
    """The person to whom this message goes."""
    assert row.recipient is not None
    return row.recipient.person
