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
    if not address and not _is_for_a_room(message):
        return None
    practice = message.practice
    recipient = message.recipient
    return Letter(
        to=address,
        subject="" if message.medium == Message.Medium.SMS else message.subject,
        body=body_of(message).replace(LINK, link_of(message)),
        message_id=message.message_id,
        reply_to=practice.email,
        leave_link=f"{url_of(recipient)}stop/" if recipient is not None else "",
        thread=_thread(message),
    )


def body_of(message: Message) -> str:
    """What is sent by its medium, with `{link}` in it. A text message has no subject, and stands by itself."""
    return (message.short or message.body) if message.medium == Message.Medium.SMS else message.body


def link_of(message: Message) -> str:
    """What `{link}` becomes: the owner's page, or the page on which staff say that they have it.

    A room is read by many, so its link is nobody's own: whoever opens it logs in.
    """
    if _is_for_a_room(message) and message.flag is not None:
        return f"{settings.PUBLIC_URL}/flags/{message.flag_id}/outcome/"
    if message.recipient is not None:
        return url_of(message.recipient)
    if message.flag is not None and message.staff is not None:
        return alert_url(message.flag, message.staff, made_at=message.due_at)
    return str(settings.PUBLIC_URL)


def _is_for_a_room(message: Message) -> bool:
    return message.medium == Message.Medium.CHAT and message.audience == Message.Audience.STAFF


def _address(message: Message) -> str:
    if message.audience == Message.Audience.LOOP:
        return str(settings.CANARY_ADDRESS) or ITSELF
    person = message.recipient.person if message.recipient is not None else message.staff
    if person is None or message.medium == Message.Medium.CHAT:
        return ""
    return str(person.email) if message.medium == Message.Medium.EMAIL else str(person.mobile)


def _thread(message: Message) -> str:
    """The Message-ID of the first mail about this patient to this owner, or about this flag to this member of staff."""
    if message.medium != Message.Medium.EMAIL or (message.recipient is None and message.flag is None):
        return ""
    same = Message.objects.filter(medium=Message.Medium.EMAIL, plan=message.plan, recipient=message.recipient)
    if message.audience == Message.Audience.STAFF:
        same = same.filter(staff=message.staff, flag=message.flag)
    first = same.order_by("pk").values_list("message_id", flat=True).first() or ""
    return "" if first == message.message_id else first
