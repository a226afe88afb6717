"""The tray as staff read it."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import QuerySet

from clinic.models import Practice
from followup.domain.wording import LINK
from followup.models import Message
from followup.services.letters import body_of, link_of


@dataclass(frozen=True)
class Opened:
    """A message with its link filled in. `subject` heads the page of a text message too, which carries none."""

    to: str
    subject: str
    body: str
    link: str


def messages_of(practice: Practice) -> QuerySet[Message]:
    """The practice's messages, newest first, with their readers."""
    return (
        Message.objects.filter(practice=practice)
        .exclude(audience=Message.Audience.LOOP)  # nobody's: how sending stands is on its own page
        .select_related("recipient__person", "staff", "plan__patient")
        .order_by("-due_at", "-pk")
    )


def letter_of(message: Message) -> Opened:
    """The message as its reader gets it."""
    link = link_of(message)
    person = message.recipient.person if message.recipient is not None else message.staff
    return Opened(to=str(person or ""), subject=message.subject, body=body_of(message).replace(LINK, link), link=link)
