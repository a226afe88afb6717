"""A link that has reached somebody else: it opens nothing from then on, and a person finds the right address."""

from __future__ import annotations

import datetime as dt
import secrets

from django.conf import settings
from django.db import transaction

from clinic.models import Role, Staff
from followup.domain.wording import NEW_LINK
from followup.models import Message, Recipient, Task
from followup.services.links import NONCE_BYTES
from followup.services.log import log
from followup.services.outbox import queue_to_owner
from followup.services.owner_page import plans_of
from followup.services.stop import stop
from followup.services.texts import fill, words_of
from followup.services.who_may import only

LASTS = dt.timedelta(days=2)
"""For so long a new link is worth sending; every other message brings it too."""


@transaction.atomic
def not_this_person(recipient: Recipient, *, now: dt.datetime) -> None:
    """ "Not you?": no message to that address any more; the link is closed, and the desk phones."""
    stop(recipient, how=Recipient.How.LINK, now=now)
    _close_link(recipient, now=now)
    Task.objects.get_or_create(
        practice_id=recipient.practice_id,
        key=f"not-me:{recipient.pk}:{now:%Y%m%d}",
        defaults={
            "plan": plans_of(recipient).running().first(),
            "kind": Task.Kind.MEND_ADDRESS,
            "text": f"Somebody else gets the messages to {recipient.person}: phone, and put the address right. "
            "Messages were stopped and the old link closed.",
            "due_at": now,
            "made_at": now,
        },
    )


@transaction.atomic
def renew_link(recipient: Recipient, *, staff: Staff, now: dt.datetime) -> None:
    """The old link opens nothing from now on; the new one is sent at once."""
    only(staff, recipient.practice_id, Role.FRONT_DESK, Role.NURSE, Role.VET, step="Renewing a link")
    _close_link(recipient, now=now)
    plans = list(plans_of(recipient).running())
    for plan in plans:
        log(plan, "link_renewed", f"{recipient.person} has a new link", now=now, staff=staff, recipient=recipient.pk)
    if plans:
        queue_to_owner(
            plans[0],
            recipient,
            purpose=Message.Purpose.NEWS,
            key=f"link:{recipient.pk}:{recipient.nonce}",
            text=fill(NEW_LINK, of=recipient.practice, language=recipient.person.language, **words_of(plans)),
            now=now,
            expires_at=now + LASTS,
        )


def _close_link(recipient: Recipient, *, now: dt.datetime) -> None:
    changes = {
        "nonce": secrets.token_urlsafe(NONCE_BYTES),
        "key_number": max(settings.LINK_KEYS),
        "made_at": now,
    }
    Recipient.objects.filter(pk=recipient.pk).update(**changes)
    recipient.refresh_from_db()
