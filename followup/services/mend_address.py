"""An address was wrong, or is new: it is put right, and a first message that had not arrived is sent again at once."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.db import transaction

from clinic.models import Owner, Role, Staff
from followup.domain.terms import FollowUpError
from followup.domain.wording import Text
from followup.models import Message, Plan, Recipient, Task
from followup.services.begin import WELCOME_LASTS
from followup.services.log import log
from followup.services.outbox import queue_to_owner
from followup.services.who_may import only

WORDS = {"email": "e-mail", "mobile": "mobile", "landline": "landline"}
AGAIN = "The address was put right, and it is sent again."


@dataclass(frozen=True)
class Addresses:
    """How somebody is reached from now on: E.164 numbers and an e-mail address, each or empty."""

    email: str
    mobile: str
    landline: str


@transaction.atomic
def mend_address(person: Owner, new: Addresses, *, staff: Staff, now: dt.datetime) -> bool:
    """Keep the addresses. False: they are the same as before, and nothing changed. Raises FollowUpError."""
    only(staff, person.practice_id, Role.FRONT_DESK, Role.NURSE, Role.VET, step="Changing an address")
    if not (new.email or new.mobile or new.landline):
        raise FollowUpError(
            "Write a mobile, an e-mail address or a landline: there is no way to reach them.", field="mobile"
        )
    locked = Owner.objects.select_for_update().get(pk=person.pk)
    changed = [words for name, words in WORDS.items() if str(getattr(locked, name)) != getattr(new, name)]
    if not changed:
        return False
    Owner.objects.filter(pk=person.pk).update(email=new.email, mobile=new.mobile, landline=new.landline)
    person.refresh_from_db()
    recipients = list(Recipient.objects.filter(person=person))
    plans = _plans(recipients, person)
    _close_tasks(recipients, plans, staff=staff, now=now)
    for plan in plans:
        log(plan, "address_changed", f"{person}: {', '.join(changed)} changed", now=now, staff=staff)
    for message in _first_messages_that_failed(recipients):
        _send_again(message, staff=staff, now=now)
    return True


def _plans(recipients: Iterable[Recipient], person: Owner) -> list[Plan]:
    """The running plans about which this person is written to."""
    own = Plan.objects.running().filter(patient__owner=person)
    others = Plan.objects.running().filter(messages__recipient__in=list(recipients))
    return list((own | others).distinct().order_by("pk"))


def _close_tasks(recipients: Iterable[Recipient], plans: Sequence[Plan], *, staff: Staff, now: dt.datetime) -> None:
    """What asked for the right address, as `sending_outcome` names it."""
    keys = [
        f"address:{plan.pk}:{recipient.pk}:{medium}"
        for plan in plans
        for recipient in recipients
        for medium in Message.Medium
    ]
    practices = {plan.practice_id for plan in plans}
    asked = Task.objects.open().filter(practice__in=practices, kind=Task.Kind.MEND_ADDRESS, key__in=keys)
    asked.update(done_at=now, done_by=staff, result="The address was changed.")


def _first_messages_that_failed(recipients: Iterable[Recipient]) -> list[Message]:
    """The last one of each plan, where none has gone out or waits."""
    alive = [Message.State.SENT, Message.State.READY, Message.State.LEASED, Message.State.PARKED]
    first = Message.objects.filter(purpose=Message.Purpose.WELCOME, recipient__in=list(recipients))
    rows = first.filter(plan__state=Plan.State.RUNNING).select_related("plan__practice", "recipient__person")
    newest: dict[tuple[int | None, int | None], Message | None] = {}
    for row in rows.order_by("pk"):
        which = (row.plan_id, row.recipient_id)
        known = newest.get(which, row)
        newest[which] = None if known is None or row.state in alive else row
    return [row for row in newest.values() if row is not None and row.state == Message.State.FAILED]


def _send_again(message: Message, *, staff: Staff, now: dt.datetime) -> None:
    """The same words to the new address, at once; the call that stood in their place is not needed."""
    if message.plan is None or message.recipient is None:
        return
    queue_to_owner(
        message.plan,
        message.recipient,
        purpose=Message.Purpose.WELCOME,
        key=f"welcome:{message.plan_id}:{message.recipient_id}:again:{now:%Y%m%d%H%M%S}",
        text=Text(message.subject, message.body, short=message.short),
        now=now,
        expires_at=now + WELCOME_LASTS,
    )
    Task.objects.open().filter(practice_id=message.practice_id, key=f"undelivered:{message.pk}").update(
        done_at=now, done_by=staff, result=AGAIN
    )
