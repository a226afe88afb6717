"""Queueing messages. A row in the outbox is a promise: the tick sends it, or a person learns that it was not sent."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from email.utils import make_msgid
from urllib.parse import urlsplit

from django.conf import settings
from django.db import models

from clinic.models import Staff
from followup.domain.wording import Text
from followup.models import CheckIn, Dose, Flag, Message, Plan, Recipient
from followup.services.call_instead import Unsent, call_instead
from followup.services.log import log
from followup.services.unasked import ask_again

ALERT_PRIORITY = 0
ADVICE_PRIORITY = 1
OWNER_PRIORITY = 3
CANARY_PRIORITY = 5
OWNER_PRIORITIES = (ADVICE_PRIORITY, OWNER_PRIORITY, CANARY_PRIORITY)
"""Every priority that a message that is no alert may have, the most pressing first."""
ALERTS_LAST = dt.timedelta(days=2)
"""An alert is repeated by its flag, so a row of it need not live longer."""
THE_SAME = (
    "practice",
    "plan",
    "audience",
    "recipient",
    "staff",
    "flag",
    "purpose",
    "collapse_key",
    "priority",
    "subject",
    "body",
    "short",
    "language",
)
"""What a message that goes by another medium has of the first."""


def queue_to_owner(  # noqa: PLR0913 - one message has this many facts, all by name
    plan: Plan,
    recipient: Recipient,
    *,
    purpose: Message.Purpose,
    key: str,
    text: Text,
    now: dt.datetime,
    expires_at: dt.datetime,
    not_before: dt.datetime | None = None,
    priority: int = OWNER_PRIORITY,
    check_ins: Sequence[CheckIn] = (),
    doses: Sequence[Dose] = (),
    collapse_key: str = "",
    medium: Message.Medium | None = None,
    flag: Flag | None = None,
) -> Message | None:
    """Queue one message to one person, once. None when `key` is queued already, or when there is no address.

    Without an address, or after the owner has stopped messages, a phone task takes the message's place if need be.
    """
    chosen = medium or medium_of(recipient)
    if chosen is None or recipient.stopped_at is not None:
        call_instead(plan, recipient, Unsent(purpose, key, text.subject, check_ins, doses, flag), now=now)
        return None
    begins = max(not_before or now, now)
    message, made = Message.objects.get_or_create(
        key=key,
        defaults={
            "practice_id": plan.practice_id,
            "plan": plan,
            "flag": flag,
            "audience": Message.Audience.OWNER,
            "recipient": recipient,
            "medium": chosen,
            "purpose": purpose,
            "chain_key": key,
            "collapse_key": collapse_key,
            "priority": priority,
            "subject": text.subject,
            "body": text.body,
            "short": text.short,
            "language": recipient.person.language,
            "due_at": now,
            "not_before": begins,
            "expires_at": max(expires_at, begins),
            "message_id": new_message_id(),
        },
    )
    if not made:
        return None
    message.check_ins.set(check_ins)
    message.doses.set(doses)
    return message


def queue_to_staff(  # noqa: PLR0913 - one message has this many facts, all by name
    flag: Flag, staff: Staff, *, key: str, text: Text, now: dt.datetime, medium: Message.Medium
) -> Message | None:
    """Queue one alert to one person by one medium, once. None when `key` is queued already."""
    message, made = Message.objects.get_or_create(
        key=key,
        defaults={
            "practice_id": flag.practice_id,
            "plan": flag.plan,
            "flag": flag,
            "audience": Message.Audience.STAFF,
            "staff": staff,
            "medium": medium,
            "purpose": Message.Purpose.ALERT,
            "chain_key": key,
            "priority": ALERT_PRIORITY,
            "subject": text.subject,
            "body": text.body,
            "short": text.short,
            "due_at": now,
            "not_before": now,
            "expires_at": now + ALERTS_LAST,
            "message_id": new_message_id(),
        },
    )
    return message if made else None


def queue_instead(message: Message, medium: Message.Medium, *, now: dt.datetime) -> Message | None:
    """Queue the same to the same person by another medium, once. Inside a transaction, after `message` has ended."""
    row, made = Message.objects.get_or_create(
        key=f"{message.chain_key or message.key}:by:{medium}",
        defaults={
            **{name: getattr(message, name) for name in THE_SAME},
            "chain_key": message.chain_key or message.key,
            "medium": medium,
            "due_at": now,
            "not_before": now,
            "expires_at": max(message.expires_at, now),
            "message_id": new_message_id(),
        },
    )
    if not made:
        return None
    row.check_ins.set(message.check_ins.all())
    row.doses.set(message.doses.all())
    return row


def drop_plan_messages(plan: Plan, *, now: dt.datetime) -> int:
    """Cancel whatever has not gone out to the plan's people, and recall what a worker has and did not begin to send.

    A message that speaks of other patients of theirs too is called off as well: it names this one. They are asked anew.
    Inside a transaction.
    """
    speaks_of_it = models.Q(plan=plan) | models.Q(check_ins__plan=plan) | models.Q(doses__plan=plan)
    pks = set(Message.objects.to_owners().not_gone().filter(speaks_of_it).values_list("pk", flat=True))
    not_gone = Message.objects.not_gone().filter(pk__in=pks)
    dropped = not_gone.update(state=Message.State.CANCELLED, lease_token=None, lease_until=None)
    ask_again(pks, but=plan)
    if dropped:
        log(plan, "messages_cancelled", f"{dropped} messages cancelled", now=now)
    return dropped


def medium_of(recipient: Recipient) -> Message.Medium | None:
    """How the person is written to: e-mail where there is one, else a text to a mobile. A landline gets calls."""
    if recipient.person.email:
        return Message.Medium.EMAIL
    return Message.Medium.SMS if recipient.person.mobile else None


def can_take(recipient: Recipient, medium: Message.Medium) -> bool:
    """Whether the person has an address for this medium."""
    addresses = {Message.Medium.EMAIL: recipient.person.email, Message.Medium.SMS: recipient.person.mobile}
    return bool(addresses.get(medium))


def new_message_id() -> str:
    """A Message-ID that stays the same when the message is sent again."""
    return make_msgid(domain=urlsplit(settings.PUBLIC_URL).hostname or "localhost")
