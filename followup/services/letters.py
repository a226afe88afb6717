"""A message as it leaves: address looked up, link filled in, only at the moment of sending."""

from __future__ import annotations

from django.conf import settings

from followup.domain.wording import LINK
from followup.messaging.channel import Letter
from followup.models import Message
from followup.services.alert_links import alert_url
from followup.services.links import url_of

ITSELF = "loop"
"""Where a message goes that this program writes to itself; no address of anybody."""


def letter_for(message: Message) -> Letter | None:
    """The letter; None when the person has no address for this medium any more. A canary has always one."""
    address = _address(message)
    if not address:
        return None
    link = link_of(message)
    practice = message.practice
    return Letter(
        to=address,
        subject="" if message.medium == Message.Medium.SMS else message.subject,
        body=body_of(message).replace(LINK, link),
        message_id=message.message_id,
        reply_to=practice.email,
        leave_link=link if message.audience == Message.Audience.OWNER else "",
    )


def body_of(message: Message) -> str:
    """What is sent by its medium, with `{link}` in it. A text message has no subject, and stands by itself."""
    return (message.short or message.body) if message.medium == Message.Medium.SMS else message.body


def link_of(message: Message) -> str:
    """What `{link}` becomes: the owner's page, or the page on which staff say that they have it."""
    if message.recipient is not None:
        return url_of(message.recipient)
    if message.flag is not None and message.staff is not None:
        return alert_url(message.flag, message.staff, made_at=message.due_at)
    return str(settings.PUBLIC_URL)


def _address(message: Message) -> str:
    if message.audience == Message.Audience.LOOP:
        return str(settings.CANARY_ADDRESS) or ITSELF
    person = message.recipient.person if message.recipient is not None else message.staff
    if person is None:
        return ""
    return str(person.email) if message.medium == Message.Medium.EMAIL else str(person.mobile)
