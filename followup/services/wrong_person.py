"""A link that has reached somebody else: it opens nothing from then on, and a person finds the right address."""

from __future__ import annotations

import datetime as dt
import secrets

from django.conf import settings
from django.db import transaction

from clinic.models import Role, Staff
from followup.models import Recipient, Task
from followup.services.links import NONCE_BYTES
from followup.services.log import log
from followup.services.owner_page import plans_of
from followup.services.stop import stop
from followup.services.who_may import only


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
    """The old link opens nothing from now on; the new one goes with the next message, or is read out."""
    only(staff, recipient.practice_id, Role.FRONT_DESK, Role.NURSE, Role.VET, step="Renewing a link")
    _close_link(recipient, now=now)
    for plan in plans_of(recipient).running():
        log(plan, "link_renewed", f"{recipient.person} has a new link", now=now, staff=staff, recipient=recipient.pk)


def _close_link(recipient: Recipient, *, now: dt.datetime) -> None:
    changes = {
        "nonce": secrets.token_urlsafe(NONCE_BYTES),
        "key_number": max(settings.LINK_KEYS),
        "made_at": now,
    }
    Recipient.objects.filter(pk=recipient.pk).update(**changes)
    recipient.refresh_from_db()
